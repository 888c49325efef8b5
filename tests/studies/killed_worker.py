"""Run as a process of its own: forks a child for each line on standard input, which works until it is killed.

A line is JSON: kind, folder, first (the first number to write), broken (leave out what makes it whole).
The process answers with the child's number; the child says "BEGUN", and each number once it is kept. All is
imported once, before; the parent never opens a store, so that its children begin with nothing open.
"""

import io
import json
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from skops import io as skops

from analytics import decisions
from analytics.causes import keeping
from analytics.causes.classifier import CauseClassifier
from analytics.causes.keeping import KeptModel, model_path, versions
from analytics.causes.model import fitted
from analytics.decisions import Decisions
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes
from tests.analytics.decision_writer import pair

ROWS = 200
HASH = "a" * 64
HEADER = "call_id,unit_id,opened_at,closed_at,complaint,outcome"


def say(what: object) -> None:
    os.write(1, f"{what}\n".encode())  # in one piece: both processes write here, and one is killed


def load(folder: Path, first: int) -> None:
    """Load one file of `ROWS` calls, as the command does."""
    path = folder.with_name(f"calls_{first}.csv")
    rows = (
        f"{i},U{i % 50},2025-01-{i % 27 + 1:02} 09:00,2025-01-{i % 27 + 1:02} 12:00,no ice – “dead”,repaired"
        for i in range(first * ROWS, (first + 1) * ROWS)
    )
    path.write_bytes("\n".join([HEADER, *rows, ""]).encode("cp1252"))
    load_files(Store(folder), [path], source="office")
    say(first)


def refit(folder: Path, first: int) -> None:
    """Fit and keep models, one after another."""
    for number in range(first, first + 100_000):
        model = fitted(CauseClassifier(), episodes(120, seed=number % 7), CODES, SYMPTOMS)
        keeping.keep(folder, KeptModel(model, {"versions": versions(), "catalogue": HASH, "number": number}))
        say(number)


def review(folder: Path, first: int) -> None:
    """Decide pairs of things, one after another."""
    kept = Decisions(folder)
    for number in range(first, first + 1_000_000):
        kept.add(pair(number))
        say(number)


WORK = {"load": load, "refit": refit, "review": review}


def break_it(kind: str) -> None:
    """Swap one step for a version that is not atomic: twins that the study must catch."""

    def in_place(folder: Path, kept: KeptModel) -> Path:
        whole = io.BytesIO()
        about = json.dumps({"format": keeping.FORMAT, **kept.about})
        found: dict[str, Any] = {"about": about, "classifier": kept.model.classifier}
        found |= {"symptoms": list(kept.model.symptoms), "codes": list(kept.model.codes)}
        skops.dump(found | {"rarer": kept.model.rarer}, whole)
        with model_path(folder).open("wb") as out:
            out.write(whole.getvalue()[: len(whole.getvalue()) // 2])
            out.flush()
            time.sleep(0.05)
            out.write(whole.getvalue()[len(whole.getvalue()) // 2 :])
        return model_path(folder)

    @contextmanager
    def no_transaction(connection: object) -> Iterator[None]:
        yield

    class Slowly(Decisions):
        def _write(self, connection: Any, made: Any) -> None:
            for each in made:
                super()._write(connection, [each])
                time.sleep(0.01)

    if kind == "refit":
        keeping.keep = in_place
    if kind == "review":
        decisions._transaction = no_transaction
        globals()["Decisions"] = Slowly


def main() -> None:
    for line in sys.stdin:
        asked = json.loads(line)
        child = os.fork()
        if child:
            say(f"CHILD {child}")
            os.waitpid(child, 0)
            say("ENDED")
            continue
        try:
            if asked["broken"]:
                break_it(asked["kind"])
            say("BEGUN")
            WORK[asked["kind"]](Path(asked["folder"]), asked["first"])
        finally:
            os._exit(0)


if __name__ == "__main__":
    main()
