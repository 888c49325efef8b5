"""Rows that were set aside, as a CSV to mend and load again."""

from pathlib import Path

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.intake.contract import IGNORED_HEADERS
from analytics.intake.reasons import reasons


def export(connection: duckdb.DuckDBPyConnection, out_path: Path | str, file_id: int | None = None) -> int:
    """Write the rows that were set aside in the columns of their own file, behind their line and their
    reasons.

    The number of the file, the line and the reasons come first, so that a row with too few or too many
    fields stays as it was; intake passes over these columns, and the file loads like the one the rows came
    from. Rows
    that were mended since are left out.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        On a store; reading is enough.
    out_path : Path
        The CSV file (UTF-8, commas); an existing one is replaced.
    file_id : int, optional
        Only rows of this file; else of all files, which must then have the same header.

    Returns
    -------
    int
        Number of rows.

    Raises
    ------
    BadQuestion
        When there is nothing to write, or the files have different headers.
    """
    found = queries.frame(connection, "staging/set_aside_rows", {"file_id": file_id})
    if found.is_empty():
        raise BadQuestion(f"No row was set aside{'' if file_id is None else f' from file {file_id}'}.")
    headers = found["header"].unique(maintain_order=True)
    if len(headers) > 1:
        files = found.select("file_id", "file_name").unique(maintain_order=True).rows()
        raise BadQuestion(
            "The rows set aside come from files with different columns. Choose one: "
            + ", ".join(f"{number} ({name})" for number, name in files[:20])
        )
    lines = (
        found.with_columns(why=_explained(found))
        .group_by("file_id", "line", maintain_order=True)
        .agg(pl.col("why").str.join("; "), pl.col("fields").first())
        .select(pl.concat_list(pl.col("file_id", "line").cast(pl.String), "why", "fields").alias("fields"))
    )
    header = pl.DataFrame({"fields": [[*IGNORED_HEADERS, *headers[0]]]})
    text = pl.concat([header, lines]).select(_as_csv("fields"))
    with Path(out_path).open("w", encoding="utf-8", newline="") as out:
        out.write("\r\n".join(text.to_series()) + "\r\n")
    return lines.height


def rows_to_mend(connection: duckdb.DuckDBPyConnection, file_id: int) -> pl.DataFrame:
    """Return what `export` writes of one file as a frame: short rows filled up, columns more for longer ones.

    Raises
    ------
    BadQuestion
        When no row of this file is set aside.
    """
    found = queries.frame(connection, "staging/set_aside_rows", {"file_id": file_id})
    if found.is_empty():
        raise BadQuestion(f"No row of file {file_id} is set aside.")
    lines = (
        found.with_columns(why=_explained(found))
        .group_by("line", maintain_order=True)
        .agg(pl.col("file_id").first(), pl.col("why").str.join("; "), pl.col("fields").first())
    )
    header = list(found["header"][0])
    width = max(len(header), *lines["fields"].list.len().to_list())
    names = [*header, *(f"further field {n + 1}" for n in range(width - len(header)))]
    own = [name for name in names if name not in IGNORED_HEADERS]
    fields = [pl.col("fields").list.get(names.index(name), null_on_oob=True).alias(name) for name in own]
    firsts = zip(("file_id", "line", "why"), IGNORED_HEADERS, strict=True)
    return lines.select(*(pl.col(name).alias(header) for name, header in firsts), *fields)


def _explained(found: pl.DataFrame) -> pl.Series:
    """Sentence for each reason, with the value found in its place."""
    marks = found.select("reason", "column_name").unique().rows()
    frame = pl.DataFrame(
        [(code, column, *_split(code, column)) for code, column in marks],
        schema={"reason": pl.String, "column_name": pl.String, "before": pl.String, "after": pl.String},
        orient="row",
    )
    joined = found.join(
        frame, on=["reason", "column_name"], how="left", nulls_equal=True, maintain_order="left"
    )
    return joined.select(
        pl.when(pl.col("after").is_null())
        .then("before")
        .otherwise(pl.concat_str("before", pl.col("found").fill_null("nothing"), "after"))
    ).to_series()


def _split(code: str, column: str | None) -> tuple[str, str | None]:
    """Sentence of a reason in two halves around the value found; the second is None without one."""
    sentence = reasons()[code].explain(column, "\0")
    before, mark, after = sentence.partition("\0")
    return before, after if mark else None


def _as_csv(name: str) -> pl.Expr:
    field = pl.element()
    quoted = pl.concat_str(pl.lit('"'), field.str.replace_all('"', '""', literal=True), pl.lit('"'))
    return (
        pl.col(name)
        .list.eval(pl.when(field.str.contains('[",\r\n]')).then(quoted).otherwise(field))
        .list.join(",")
    )
