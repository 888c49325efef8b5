"""Foreign dialects: the same fleet as another office would export it, told in synthetic_data/dialects/."""

import csv
import io
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np
import polars as pl

from synthetic_data.dirt import Spot, ragged, soil
from synthetic_data.record import Record
from synthetic_data.streams import stream
from synthetic_data.write import frames


@dataclass(frozen=True)
class Dialect:
    """How one office writes its files.

    Parameters
    ----------
    name, about : str
        Name, and what is peculiar to it.
    encoding, separator, line_end : str
    mark : bool
        A byte order mark stands in front.
    day, time : str
        Patterns of dates and times.
    decimal_comma : bool
    yes, no : str
        Words of the office's callback mark.
    impossible_day : str
        A day that does not exist, with %Y for the year.
    dirty : bool
        Bad rows are mixed in.
    units : dict
        Our unit of measure to the office's: to, scale, shift, decimals.
    files, headers : dict
        File name by table; header by table and column.
    """

    name: str
    about: str
    encoding: str
    separator: str
    line_end: str
    mark: bool
    day: str
    time: str
    decimal_comma: bool
    yes: str
    no: str
    impossible_day: str
    dirty: bool
    units: dict[str, dict[str, float | str]]
    files: dict[str, str]
    headers: dict[str, dict[str, str]]


@cache
def dialects() -> dict[str, Dialect]:
    """All dialects by name, in alphabetical order."""
    found = {}
    folder = resources.files("synthetic_data") / "dialects"
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.name.endswith(".toml"):
            name = file.name.removesuffix(".toml")
            traits = {"mark": False} | tomllib.loads(file.read_text(encoding="utf-8"))
            found[name] = Dialect(name=name, **traits)
    return found


def write_dialect(record: Record, seed: int, out_dir: Path, dialect: Dialect) -> None:
    """Write the fleet in a dialect into a folder of its name, with truth/headers.csv and truth/dirt.csv."""
    folder = out_dir / dialect.name
    (folder / "truth").mkdir(parents=True, exist_ok=True)
    spots: list[Spot] = []
    for table, file_name in dialect.files.items():
        with (folder / file_name).open("wb") as file:
            line = 1
            for number, frame in enumerate(frames(record, seed, table)):
                rng = stream(seed, f"{dialect.name} {table} {number}")
                text, line, found = _render(rng, frame, dialect, table, line)
                file.write(text)
                spots += found
    _write_truth(dialect, spots, folder / "truth")


def _render(
    rng: np.random.Generator, frame: pl.DataFrame, dialect: Dialect, table: str, line: int
) -> tuple[bytes, int, list[Spot]]:
    """Bytes of a chunk, the next physical line, and the dirty rows in it; the header comes with line 1."""
    frame = frame.select(dialect.headers[table].keys())
    texts = translated(frame, dialect)
    spots: list[Spot] = []
    if dialect.dirty:
        texts, spots = soil(rng, frame, texts, dialect, table)
    header = _csv(texts.clear().rename(dialect.headers[table]), dialect, header=True) if line == 1 else ""
    rows = _csv(texts, dialect, header=False).split(dialect.line_end)[:-1]
    if dialect.dirty:
        spots += ragged(rng, rows, dialect.separator, {spot.row for spot in spots})
    starts = line + header.count("\n") + _starts(texts)
    placed = [
        Spot(spot.row, spot.kind, dialect.files[table], int(starts[spot.row]))
        for spot in sorted(spots, key=lambda s: s.row)
    ]
    text = header + "".join(row + dialect.line_end for row in rows)
    mark = "\ufeff" if dialect.mark and line == 1 else ""
    return (mark + text).encode(dialect.encoding), line + text.count("\n"), placed


def _csv(texts: pl.DataFrame, dialect: Dialect, *, header: bool) -> str:
    buffer = io.BytesIO()
    texts.write_csv(
        buffer, include_header=header, separator=dialect.separator, line_terminator=dialect.line_end
    )
    return buffer.getvalue().decode()


def _starts(texts: pl.DataFrame) -> np.ndarray:
    """Physical lines by which each row starts after the first, quoted newlines counted."""
    if "notes" not in texts.columns:
        return np.arange(len(texts))
    inside = texts["notes"].str.count_matches("\n").fill_null(0).to_numpy()
    return np.arange(len(texts)) + np.cumsum(inside) - inside


def translated(frame: pl.DataFrame, dialect: Dialect) -> pl.DataFrame:
    """The rows as texts in the dialect, under our column names."""
    if "reading_unit" in frame.columns:
        frame = frame.with_columns(*_measured(dialect))
    columns = []
    for name, kind in frame.schema.items():
        column = pl.col(name)
        if kind == pl.Datetime("ms"):
            column = column.dt.to_string(dialect.time)
        elif kind == pl.Date:
            column = column.dt.to_string(dialect.day)
        elif kind == pl.Float64:
            column = _point(column.round(2).cast(pl.String), dialect)
        elif name == "callback_flag":
            column = column.replace({"yes": dialect.yes, "no": dialect.no})
        elif name == "notes" and dialect.line_end == "\n":
            column = column.str.replace_all("\n", " / ")
        columns.append(column.cast(pl.String).alias(name))
    return frame.select(columns)


def _point(text: pl.Expr, dialect: Dialect) -> pl.Expr:
    return text.str.replace(".", ",", literal=True) if dialect.decimal_comma else text


def _measured(dialect: Dialect) -> tuple[pl.Expr, pl.Expr]:
    """Readings and their units of measure as the office keeps them."""
    unit = pl.col("reading_unit")

    def trait(name: str, kind: type[pl.DataType]) -> pl.Expr:
        table = {ours: theirs[name] for ours, theirs in dialect.units.items()}
        return unit.replace_strict(table, default=None, return_dtype=kind)

    number = pl.col("reading").cast(pl.Float64, strict=False)
    value = number * trait("scale", pl.Float64) + trait("shift", pl.Float64)
    decimals = trait("decimals", pl.Int64)
    text = pl.coalesce(
        pl.when(decimals == 0).then(value.round(0).cast(pl.Int64).cast(pl.String)),
        *(pl.when(decimals == places).then(value.round(places).cast(pl.String)) for places in (1, 2, 3)),
        pl.col("reading"),
    )
    return _point(text, dialect).alias("reading"), trait("to", pl.String).alias("reading_unit")


def _write_truth(dialect: Dialect, spots: list[Spot], folder: Path) -> None:
    """Write which header means which of our columns, and which physical lines are dirty."""
    with (folder / "headers.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("file", "header", "table", "column"))
        for table, file_name in dialect.files.items():
            for column, header in dialect.headers[table].items():
                writer.writerow((file_name, header, table, column))
    if not dialect.dirty:
        return
    with (folder / "dirt.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("file", "line", "kind"))
        writer.writerows((spot.file, spot.line, spot.kind) for spot in spots)
