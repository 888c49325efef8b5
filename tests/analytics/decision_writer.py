"""Run as a process of its own: writes pairs of decisions until it is killed.

Arguments: folder, kind of writing ("as it is", or "in two steps": without a transaction), where to stop for
the killer ("half": after the first of the second pair; "race": never). Says "AT half", or each pair's number.
"""

import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from analytics import decisions
from analytics.decisions import Decision, Decisions


@contextmanager
def no_transaction(connection: sqlite3.Connection) -> Iterator[None]:
    yield


class Stopping(Decisions):
    def _write(self, connection: sqlite3.Connection, made: list[Decision]) -> None:  # type: ignore[override]
        super()._write(connection, made[:1])
        if made[0].key == "C1":
            print("AT half", flush=True)
            time.sleep(60)
        super()._write(connection, made[1:])


def pair(number: int) -> list[Decision]:
    key = f"C{number}"
    return [Decision("sorted", "return", key, "use"), Decision("remark", "return", key, "words" * 50)]


if __name__ == "__main__":
    folder, kind, stop = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    if kind == "in two steps":
        decisions._transaction = no_transaction
    kept = (Stopping if stop == "half" else Decisions)(folder)
    for number in range(1_000_000):
        kept.add(pair(number))
        if stop == "race":
            print(number, flush=True)
