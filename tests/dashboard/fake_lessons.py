"""What the pages on lessons ask, over invented numbers; what is recorded is kept in a list."""

from datetime import date, datetime
from typing import Any

import polars as pl

from analytics.errors import BadQuestion, UnknownRecord
from analytics.lessons import Lesson
from analytics.questions.lesson_case import Apart, Case, Shown, Step, Trip
from analytics.questions.lesson_cases import LessonCases
from analytics.questions.lesson_effect import Effect
from analytics.questions.lesson_outcome import LessonOutcome, periods
from analytics.rates import Counted, rates
from tests.dashboard.fake_frames import HOSTILE, LABELS

CAUSE = next(iter(LABELS["causes"]))
SIGN = {
    "answer": "mould_state", "code": "empty", "strings": 40, "of": 60, "others": 90, "of_others": 500,
    "ratio": 3.7, "label": "What is in the mould", "words": "empty",
}  # fmt: skip


def case(kind: str = "missed") -> Case:
    steps = [
        Step("visit", 2, "", ""),
        Step("check", 2, "look at the filter", "no fault"),
        Step("closed", 2, "repaired", ""),
    ]
    again = [Step("check", 12, "seep test", "8 drops, fault"), Step("part", 12, "inlet valve", "")]
    return Case(
        kind,
        "C40000",
        "side_by_side",
        HOSTILE,
        [("What is in the mould", "empty")],
        [Trip(1, "no ice", steps, "filter clogged"), Trip(11, "no ice", again, "valve seeps")],
        "filter clogged",
        "valve seeps",
        12,
        True,
        SIGN,
        Shown("seep test", "8 drops, fault", ["drops in 15 minutes: at most 0 drops"]),
        Apart("filter clogged", "seep test", 19.0, 0.9, 0.02),
        ["b"],
    )


def shares(*counts: int) -> list:
    return rates([Counted(*pair) for pair in zip(counts[::2], counts[1::2], strict=True)])


def found(day: date, verdict: str = "better") -> LessonOutcome:
    change = (None, None, None) if verdict == "too_few" else (-0.18, -0.3, -0.06)
    effect = Effect(*shares(30, 90, 8, 70, 50, 200, 48, 190), 6, 14, verdict, *change)  # type: ignore[call-arg]
    few = Effect(*shares(3, 9, 0, 4, 50, 200, 48, 190), 2, 14, "too_few")  # type: ignore[call-arg]
    lesson = Lesson(day, CAUSE, ("T01", "T02"), HOSTILE, "Ann", datetime(2026, 6, 1, 9, 30))
    return LessonOutcome(lesson, LABELS["causes"][CAUSE], periods(day, date(2026, 6, 28)), 1, effect, few)


class FakeLessons:
    """The methods of `FleetLessons`."""

    total: int
    recorded: list[Any]

    def lesson_causes(self) -> pl.DataFrame:
        strings = [90 if self.total else 0] * len(LABELS["causes"])
        return pl.DataFrame(
            {
                "cause": list(LABELS["causes"]),
                "label": list(LABELS["causes"].values()),
                "strings": strings,
                "wrong": [each // 5 for each in strings],
            }
        )

    def lesson_cases(self, cause: str) -> LessonCases:
        cases = [case("typical"), case(), case("look_alike")] if self.total else []
        return LessonCases(cause, LABELS["causes"][cause], 90, 24, cases, [SIGN], len(cases) >= 5)

    def lessons(self) -> list[LessonOutcome]:
        return [found(date(2026, 6, 1)), found(date(2025, 3, 1)), found(date(2024, 3, 1), "too_few")]

    def lesson_history(self) -> pl.DataFrame:
        row = {"number": 1, "key": f"2026-06-01:{CAUSE}", "value": "{}", "note": "", "who": "Ann"}
        rows = [row, row | {"number": 2, "value": "", "who": ""}]
        return pl.DataFrame(rows).with_columns(made_at=pl.lit(datetime(2026, 6, 1, 9, 30)))

    def record_lesson(self, lesson: Lesson) -> None:
        if lesson.cause not in LABELS["causes"]:
            raise BadQuestion(f"No lesson can be about '{HOSTILE}'.")
        self.recorded = [*getattr(self, "recorded", []), lesson]

    def take_back_lesson(self, key: str, who: str = "") -> None:
        if not key.startswith("2026"):
            raise UnknownRecord(f"No lesson '{HOSTILE}' is recorded.")
        self.recorded = [*getattr(self, "recorded", []), (key, who)]
