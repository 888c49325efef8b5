"""A stand-in for the part of the facade that changes records: nothing was asked for yet."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import polars as pl

from analytics.intake.changing import State
from analytics.intake.phrase_evidence import Alike, Turned
from analytics.intake.proposing_phrases import Meaning, Understood
from tests.dashboard.fake_frames import FORMULA, HOSTILE


class Asked:
    """A queue of changes that are never made."""

    def __init__(self, done: list[dict[str, Any]] | None = None) -> None:
        self.asked: list[tuple[str, dict[str, Any]]] = []
        self.done = done or []

    def ask(self, kind: str, values: dict[str, Any]) -> None:
        self.asked.append((kind, values))

    def state(self) -> State:
        return State(False, done=self.done)


class FakeChanging:
    """The methods of `Fleet` about changes."""

    def changing(self) -> Asked:
        return Asked()

    def meanings(self, field: str) -> dict[str, str]:
        return {"no_ice": "no ice", "leak_floor": "water on the floor"}

    def proposals(self, field: str, texts: Sequence[str]) -> list[Understood]:
        turned = Turned("cause", "fill_tube_frozen", 14, 17)
        alike = Alike(
            turned,
            Turned("cause", "fill_tube_frozen", 320, 1400),
            Turned("cause", "fill_tube_frozen", 80, 5000),
        )
        meanings = [Meaning("no_ice", alike, "no ice"), Meaning("leak_floor", None, HOSTILE)]
        return [Understood([turned, Turned("symptom", "no_ice", 9, 42)], meanings) for _ in texts]

    def phrase_examples(self, field: str, texts: Sequence[str]) -> pl.DataFrame:
        row = {
            "call_id": "C1",
            "opened_at": datetime(2026, 3, 1),
            "complaint": HOSTILE,
            "root_cause": FORMULA,
        }
        return pl.DataFrame([{"text": text} | row for text in texts])

    def settled(self) -> pl.DataFrame:
        return pl.DataFrame({"field": ["complaint"], "text": [HOSTILE], "codes": [["no_ice"]]})

    def phrase(self, key: str) -> tuple[str, str]:
        return "complaint", HOSTILE

    def set_aside_reasons(self) -> pl.DataFrame:
        return pl.DataFrame({"reason": ["closed_before_opened"], "rows": [120]})

    def to_mend(self, file_id: int) -> pl.DataFrame:
        return pl.DataFrame({"set_aside_file": [file_id], "set_aside_line": [2], "complaint": [FORMULA]})

    def taken_back(self) -> pl.DataFrame:
        return pl.DataFrame(
            {
                "file_name": [HOSTILE],
                "table_name": ["calls"],
                "source": ["office"],
                "rows": [12],
                "taken_back_at": [datetime(2026, 3, 1)],
            }
        )
