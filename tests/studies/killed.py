"""SIGKILL at random moments of loads, refits and reviews: nothing committed is lost, nothing half is seen.

Writes its results into docs/studies.md.

python -m tests.studies.killed [--moments 200] [--seed 1] [--no-write]
"""

import argparse
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from analytics.causes.keeping import kept_model
from analytics.decisions import FILE
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.store import Store
from tests.benchmarks.machine import machine
from tests.studies.killed_worker import HASH, ROWS

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"
HEADING = "## Killed at random moments"
SHARES = {"load": 0.4, "refit": 0.3, "review": 0.3}
SPAN = {"refit": 0.6, "review": 0.4}
"""Seconds within which the blow falls; for loads, a little more than a load takes."""


class Killer:
    """Starts work in a process and kills it after a time."""

    def __init__(self) -> None:
        command = [sys.executable, "-m", "tests.studies.killed_worker"]
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def __enter__(self) -> "Killer":
        return self

    def __exit__(self, *_: object) -> None:
        self._process.stdin.close()  # type: ignore[union-attr]
        self._process.wait(timeout=60)

    def kill(
        self, kind: str, folder: Path, first: int, after_seconds: float, broken: bool = False
    ) -> list[int]:
        """Work from a number on, strike after a time, and return the numbers that were said to be kept."""
        asked = {"kind": kind, "folder": str(folder), "first": first, "broken": broken}
        self._process.stdin.write(json.dumps(asked) + "\n")  # type: ignore[union-attr]
        self._process.stdin.flush()  # type: ignore[union-attr]
        said: list[int] = []
        blow = None
        child = 0
        for line in self._process.stdout:  # type: ignore[union-attr]
            word = line.strip()
            if word.startswith("CHILD"):
                child = int(word.split()[1])
            elif word.isdigit():
                said.append(int(word))
            if word == "ENDED":
                break
            if child and blow is None:
                blow = threading.Timer(after_seconds, os.kill, (child, signal.SIGKILL))
                blow.start()
        if blow is not None:
            blow.cancel()
        return said


def check_loads(folder: Path, before: int, said: list[int], first: int) -> tuple[int, str]:
    """Whole loads alone are in the store; return how many, and how the blow fell."""
    cursor = Store(folder).reader().cursor()
    ids = {row[0] for row in cursor.execute("select call_id from records.calls").fetchall()}
    loads, rows = cursor.execute("select count(*), sum(loaded) from loads.files").fetchone() or (0, 0)
    assert rows == len(ids), f"{len(ids)} calls of loads that tell {rows}"
    assert Fleet(Store(folder)).figures(Filters()).counts["calls"] == len(ids), "marts of another load"
    assert len(ids) == loads * ROWS, "a part of a load is seen"
    assert loads in (before, before + 1), f"{before} loads were kept, now there are {loads}"
    mine = {str(n) for n in range(first * ROWS, (first + 1) * ROWS)}
    assert not said or mine <= ids, "a load that said it was done is lost"
    return loads, "after the end" if said else ("kept, not yet said" if loads > before else "nothing kept")


def check_model(folder: Path, last: int, said: list[int]) -> tuple[int, str]:
    """The model is whole, and not older than the last one that was said to be kept."""
    kept = kept_model(folder, HASH)
    found = -1 if kept is None else kept.about["number"]
    least = said[-1] if said else last
    assert found in (least, least + 1), f"model {least} was kept, now there is {found}"
    return found, "kept, not yet said" if found > least else "between two"


def check_decisions(folder: Path, last: int, said: list[int]) -> tuple[int, str]:
    """The file is sound, holds whole pairs alone, and all that were said to be kept."""
    if not (folder / FILE).exists():
        assert not said
        return last, "nothing kept"
    connection = sqlite3.connect(folder / FILE)
    try:
        assert connection.execute("pragma integrity_check").fetchone() == ("ok",)
        made = connection.execute("select count(*) from sqlite_master where name = 'decisions'").fetchone()[0]
        if not made:
            assert not said
            return last, "nothing kept"
        halves = "select key from decisions group by key having count(*) <> 2"
        assert connection.execute(halves).fetchall() == [], "half of a decision is seen"
        count = connection.execute("select count(distinct key) from decisions").fetchone()[0]
    finally:
        connection.close()
    least = said[-1] if said else last
    assert count - 1 in (least, least + 1), f"decision {least} was kept, the last one now is {count - 1}"
    return count - 1, "kept, not yet said" if count - 1 > least else "between two"


@dataclass
class Tally:
    """What became of the moments of one kind."""

    kind: str
    moments: int = 0
    fell: Counter[str] = field(default_factory=Counter)


def strike(kind: str, moments: int, seed: int, place: Path, broken: bool = False) -> Tally:
    """Kill one kind of work at random moments, in one folder, and check after each.

    Parameters
    ----------
    kind : str
        load, refit or review.
    moments : int
    seed : int
    place : Path
        An empty folder.
    broken : bool
        Use the version that is not atomic.

    Raises
    ------
    AssertionError
        When something kept is lost, or half of something is seen.
    """
    folder, chance, tally = place / kind, random.Random(seed), Tally(kind)
    folder.mkdir(parents=True)
    state = 0 if kind == "load" else -1
    with Killer() as killer:
        span = SPAN.get(kind, 0.0)
        if kind == "load":
            killer.kill(kind, folder, 0, 600)  # one to begin with
            began = time.monotonic()
            killer.kill(kind, folder, 1, 600)
            span, state = 1.15 * (time.monotonic() - began), 2
        for moment in range(moments):
            number = moment + 2 if kind == "load" else state + 1
            said = killer.kill(kind, folder, number, chance.uniform(0, span), broken)
            if kind == "load":
                state, fell = check_loads(folder, state, said, number)
            elif kind == "refit":
                state, fell = check_model(folder, state, said)
            else:
                state, fell = check_decisions(folder, state, said)
            tally.moments += 1
            tally.fell[fell] += 1
        if kind == "load":
            assert killer.kill(kind, folder, moments + 2, 600) == [moments + 2], "the next load works"
            assert not [path for path in folder.iterdir() if path.name.endswith((".tmp", ".new", ".wal"))]
    return tally


def main() -> int:
    """Strike, print, and write the table."""
    about = __doc__.splitlines()[0]
    parser = argparse.ArgumentParser(prog="python -m tests.studies.killed", description=about)
    parser.add_argument("--moments", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-write", action="store_true", help="print alone")
    asked = parser.parse_args()
    lines = ["| work | moments | of which | lost or half seen |", "|---|---:|---|---:|"]
    with tempfile.TemporaryDirectory() as place:
        for kind, share in SHARES.items():
            tally = strike(kind, round(asked.moments * share), asked.seed, Path(place))
            fell = ", ".join(f"{what} {count}" for what, count in tally.fell.most_common())
            lines.append(f"| {kind} | {tally.moments} | {fell} | 0 |")
            print(lines[-1], flush=True)
    told = f"Measured on {date.today()}, seed {asked.seed}. {machine()}.\n\n" + "\n".join(lines) + "\n"
    if not asked.no_write:
        text = PAGE.read_text(encoding="utf-8")
        head, _, rest = text.partition(f"{HEADING}\n")
        following = rest.find("\n# ")
        after = rest[following:] if following >= 0 else ""
        PAGE.write_text(f"{head}{HEADING}\n\n{told}{after}", encoding="utf-8")
    print(told)
    return 0


if __name__ == "__main__":
    sys.exit(main())
