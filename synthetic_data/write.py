"""Writing: the canonical CSV files of a record, in chunks, and the truth beside them."""

from collections.abc import Iterator
from pathlib import Path

import polars as pl

from synthetic_data import other_rows, truth
from synthetic_data.call_rows import call_rows
from synthetic_data.record import Record

CHUNK_ROWS = 250_000
TIME, DAY = "%Y-%m-%d %H:%M", "%Y-%m-%d"
TABLES = ("calls", "visits", "checks", "parts", "units", "filter_changes", "technicians", "follow_ups")


def chunks(rows: int) -> Iterator[tuple[int, slice]]:
    """Numbered slices over so many rows; one empty slice when there are none, for the header."""
    for number, start in enumerate(range(0, max(rows, 1), CHUNK_ROWS)):
        yield number, slice(start, min(start + CHUNK_ROWS, rows))


def frames(record: Record, seed: int, table: str) -> Iterator[pl.DataFrame]:
    """Rows of one table, chunk by chunk."""
    if table == "visits":
        for number, rows in chunks(len(record.visits["call"])):
            yield other_rows.visit_rows(record, seed, number, rows)
    elif table == "checks":
        noted = other_rows.noted_checks(record, seed)
        for number, rows in chunks(len(noted["visit"])):
            yield other_rows.check_rows(record, noted, seed, number, rows)
    elif table == "parts":
        for number, rows in chunks(len(record.parts["visit"])):
            yield other_rows.part_rows(record, seed, number, rows)
    elif table == "units":
        yield other_rows.unit_rows(record, seed)
    elif table == "filter_changes":
        yield other_rows.filter_change_rows(record)
    elif table == "technicians":
        yield other_rows.technician_rows(record)
    elif table == "follow_ups":
        yield other_rows.follow_up_rows(record, seed)
    else:
        raise KeyError(f"no table {table!r}; there are {', '.join(('calls', *TABLES[1:]))}")


def write_canonical(record: Record, seed: int, out_dir: Path) -> None:
    """Write every table as <table>.csv, and the truth into the folder truth/."""
    (out_dir / "truth").mkdir(parents=True, exist_ok=True)
    said = []
    with (out_dir / "calls.csv").open("wb") as file:
        for number, rows in chunks(len(record.calls["opened"])):
            frame, told = call_rows(record, seed, number, rows)
            append(frame, file, header=number == 0)
            said.append(told)
    truth.write_truth(record, said, out_dir / "truth")
    for table in TABLES[1:]:
        with (out_dir / f"{table}.csv").open("wb") as file:
            for number, frame in enumerate(frames(record, seed, table)):
                append(frame, file, header=number == 0)


def append(frame: pl.DataFrame, file, *, header: bool) -> None:  # type: ignore[no-untyped-def]
    """Append a frame to an open CSV file."""
    frame.write_csv(file, include_header=header, datetime_format=TIME, date_format=DAY)
