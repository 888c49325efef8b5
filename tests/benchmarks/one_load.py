"""One load in a process of its own, the program's or bare DuckDB's of the same files; prints its seconds.

python -m tests.benchmarks.one_load program STORE FILES...
python -m tests.benchmarks.one_load bare DATABASE FILES...
"""

import json
import sys
import time
from pathlib import Path

import duckdb

from analytics.intake.loading import load_files
from analytics.store import Store


def program(store: Path, files: list[Path]) -> None:
    """The whole load: from files to a store ready for questions."""
    for report in load_files(Store(store), files).files:
        if report.rows == 0 or report.set_aside > report.rows // 100:
            raise SystemExit(f"The load is no measure of anything: {report.to_text()}")


def bare(database: Path, files: list[Path]) -> None:
    """The least that could be done: each file read as DuckDB reads it by itself, into a table of its own."""
    with duckdb.connect(database, config={"threads": 2}) as connection:
        for file in files:
            connection.execute(f'create table "{file.stem}" as from read_csv(?)', [str(file)])
        connection.execute("checkpoint")


if __name__ == "__main__":
    how, target, *names = sys.argv[1:]
    started = time.perf_counter()
    {"program": program, "bare": bare}[how](Path(target), [Path(name) for name in names])
    print(json.dumps({"seconds": time.perf_counter() - started}))
