"""Run as a process of its own: records lessons until it is killed.

Arguments: folder, kind of writing ("as it is", or "in two steps": who attended is written after the lesson).
Says the number of each lesson once it is kept.
"""

import sqlite3
import sys
import time
from datetime import date, timedelta
from pathlib import Path

from analytics import queries
from analytics.decisions import Decision, Decisions
from analytics.lessons import Lesson


class InTwoSteps(Decisions):
    def _write(self, connection: sqlite3.Connection, made: list[Decision]) -> None:  # type: ignore[override]
        for each in made:
            values = vars(each) | {"value": "half", "made_at": "2026-03-01T08:00:00"}
            connection.execute(queries.statement("decisions/add"), values)
            connection.commit()
            time.sleep(1)
            connection.execute(queries.statement("decisions/begin"))
            connection.execute(
                "update decisions set value = ? where number = (select max(number) from decisions)",
                [each.value],
            )


def lesson(number: int) -> Lesson:
    day = date(2000, 1, 1) + timedelta(days=number)
    return Lesson(day, "tube_frozen", tuple(f"T{n}" for n in range(12)), "words " * 100)


if __name__ == "__main__":
    kept = (InTwoSteps if sys.argv[2] == "in two steps" else Decisions)(Path(sys.argv[1]))
    for number in range(100_000):
        kept.add([lesson(number).decision()])
        print(number, flush=True)
