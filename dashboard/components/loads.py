"""What was loaded, row by row accounted for: files, rows set aside, phrases not recognised."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import polars as pl

from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import capital, counted, moment, number

LONGEST_TEXT = 120
BYTES_A_MEGABYTE = 1_000_000

FIELD_WORDS = {
    "complaint": "complaint",
    "root_cause": "cause",
    "outcome": "outcome",
    "job_kind": "kind of job",
    "visit_result": "result of a visit",
    "check": "check",
    "part": "part",
}


COUNTS = {
    "rows": "Rows",
    "loaded": "Loaded",
    "updated": "Updated",
    "repeated": "Repeated",
    "set_aside": "Set aside",
    "withdrawn": "Withdrawn",
}
"""What became of the rows: rows = loaded + updated + repeated + set aside."""


def files_table(files: pl.DataFrame) -> Table:
    """Return the files loaded, latest first."""
    named: list[Cell] = [
        noted(row["file_name"], f"{row['table_name']}, from {row['source']}")
        for row in files.iter_rows(named=True)
    ]
    ways = [_way_back("file", row["file_id"], row["file_name"]) for row in files.iter_rows(named=True)]
    return _accounts("Files loaded, latest first", "File", named, files, ways)


def loads_table(loads: pl.DataFrame) -> Table:
    """Return the loads, latest first; their counts are those of their files together."""
    named: list[Cell] = [
        noted(f"Load {row['load_id']}", f"{moment(row['started_at'])}, {_of_files(row)}")
        for row in loads.iter_rows(named=True)
    ]
    ways = [
        _way_back("load", row["load_id"], f"load {row['load_id']}") if row["files"] else ""
        for row in loads.iter_rows(named=True)
    ]
    return _accounts("Loads, latest first", "Load", named, loads, ways)


def _of_files(row: Mapping[str, Any]) -> str:
    said = [counted(row["files"], "file")] if row["files"] or not row["takes_back"] else []
    if row["files_taken_back"]:
        said.append(f"{counted(row['files_taken_back'], 'file')} taken back since")
    if row["takes_back"]:
        said.append(f"took back {counted(row['takes_back'], 'file')}")
    return ", ".join(said)


def taken_back_table(files: pl.DataFrame) -> Table:
    """Return the files that were taken back, latest first."""
    cells: list[list[Cell]] = [
        [
            noted(row["file_name"], f"{row['table_name']}, from {row['source']}"),
            number(row["rows"]),
            moment(row["taken_back_at"]),
        ]
        for row in files.iter_rows(named=True)
    ]
    columns = [column("File"), column("Rows", "number"), column("Taken back")]
    return Table("Files taken back, latest first", columns, cells)


def _way_back(what: str, number_of_it: int, named: str) -> Cell:
    return link("Take back", f"/take-back?{what}={number_of_it}", f"Take back {named}")


def _accounts(caption: str, what: str, named: list[Cell], rows: pl.DataFrame, ways: Sequence[Cell]) -> Table:
    columns = [column(what), *[column(words, "number") for words in COUNTS.values()], column("Undo")]
    counts = rows.select(list(COUNTS)).iter_rows(named=True)
    cells = [
        [name, *[_count(count, value) for count, value in row.items()], way]
        for name, row, way in zip(named, counts, ways, strict=True)
    ]
    return Table(caption, columns, cells, layout="stack")


def _count(name: str, value: int) -> Cell:
    text = number(value)
    return link(text, "#set-aside", f"{text} rows set aside") if name == "set_aside" and value else text


def generations_table(generations: pl.DataFrame) -> Table:
    """Return the generations on the disk, newest first."""
    columns = [column("Generation"), column("Made"), column("Size", "number")]
    cells: list[list[Cell]] = [
        [
            noted(str(row["number"]), "current") if row["is_current"] else str(row["number"]),
            moment(row["made_at"]),
            f"{number(row['size_bytes'] / BYTES_A_MEGABYTE, 1)} MB",
        ]
        for row in generations.iter_rows(named=True)
    ]
    return Table("Generations kept, newest first", columns, cells)


def set_aside_table(rows: pl.DataFrame, explained: Callable[[str, str | None, str | None], str]) -> Table:
    """Return rows set aside: where they stand, and why in the words of `explained`."""
    columns = [
        column("File"),
        column("Line", "number"),
        column("Why, and what to do"),
        column("Column"),
        column("Found"),
    ]
    cells: list[list[Cell]] = [
        [
            row["file_name"],
            number(row["line"]),
            capital(explained(row["reason"], row["column_name"], row["found"])),
            row["column_name"] or "",
            shortened(row["found"]),
        ]
        for row in rows.iter_rows(named=True)
    ]
    return Table("Rows set aside", columns, cells, layout="stack")


def field_words(field: str) -> str:
    """Say in which kind of words a phrase stands."""
    return FIELD_WORDS.get(field, field.replace("_", " "))


def phrases_table(rows: pl.DataFrame) -> Table:
    """Return texts not recognised, most frequent first."""
    columns = [column("As written"), column("Where"), column("Rows", "number")]
    cells: list[list[Cell]] = [
        [
            shortened(row["text"]),
            field_words(row["field"]),
            number(row["rows"]),
        ]
        for row in rows.iter_rows(named=True)
    ]
    return Table("Phrases not recognised, most frequent first", columns, cells, layout="stack")


def shortened(text: str | None) -> str:
    """Cut a long text for a table, marked by an ellipsis."""
    whole = text or ""
    return whole if len(whole) <= LONGEST_TEXT else whole[:LONGEST_TEXT] + "…"
