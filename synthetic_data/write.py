"""Writing: the canonical CSV files of a record, in chunks, and the truth beside them."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

import polars as pl

from synthetic_data import other_rows, truth
from synthetic_data.call_rows import call_rows
from synthetic_data.ledger import Columns
from synthetic_data.record import Record

CHUNK_ROWS = 250_000
TIME, DAY = "%Y-%m-%d %H:%M", "%Y-%m-%d"
TABLES = ("calls", "visits", "checks", "parts", "units", "filter_changes", "technicians", "follow_ups")

_WHOLE: dict[str, Callable[[Record, int], pl.DataFrame]] = {
    "units": other_rows.unit_rows,
    "filter_changes": other_rows.filter_change_rows,
    "technicians": other_rows.technician_rows,
    "follow_ups": other_rows.follow_up_rows,
}


def chunks(rows: int) -> Iterator[tuple[int, slice]]:
    """Numbered slices over so many rows; one empty slice when there are none, for the header."""
    for number, start in enumerate(range(0, max(rows, 1), CHUNK_ROWS)):
        yield number, slice(start, min(start + CHUNK_ROWS, rows))


def frames(record: Record, seed: int, table: str) -> Iterator[pl.DataFrame]:
    """Rows of one table of TABLES, chunk by chunk; the same record and seed give the same rows."""
    if table == "calls":
        yield from (frame for frame, _ in _calls(record, seed))
    elif table == "visits":
        for number, rows in chunks(len(record.visits["call"])):
            yield other_rows.visit_rows(record, seed, number, rows)
    elif table == "checks":
        noted = other_rows.noted_checks(record, seed)
        for number, rows in chunks(len(noted["visit"])):
            yield other_rows.check_rows(record, noted, seed, number, rows)
    elif table == "parts":
        for number, rows in chunks(len(record.parts["visit"])):
            yield other_rows.part_rows(record, seed, number, rows)
    else:
        yield _WHOLE[table](record, seed)


def _calls(record: Record, seed: int) -> Iterator[tuple[pl.DataFrame, Columns]]:
    for number, rows in chunks(len(record.calls["opened"])):
        yield call_rows(record, seed, number, rows)


def write_canonical(record: Record, seed: int, out_dir: Path) -> None:
    """Write every table as <table>.csv, and the truth into the folder truth/."""
    (out_dir / "truth").mkdir(parents=True, exist_ok=True)
    said = []
    with (out_dir / "calls.csv").open("wb") as file:
        for number, (frame, told) in enumerate(_calls(record, seed)):
            _append(frame, file, header=number == 0)
            said.append(told)
    truth.write_truth(record, said, out_dir / "truth")
    for table in TABLES[1:]:
        with (out_dir / f"{table}.csv").open("wb") as file:
            for number, frame in enumerate(frames(record, seed, table)):
                _append(frame, file, header=number == 0)


def _append(frame: pl.DataFrame, file: BinaryIO, *, header: bool) -> None:
    frame.write_csv(file, include_header=header, datetime_format=TIME, date_format=DAY)
