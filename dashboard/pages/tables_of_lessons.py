"""What can be kept of the pages on lessons: their tables, by name."""

from collections.abc import Callable, Mapping
from typing import Any

import polars as pl

from analytics.fleet import Fleet
from analytics.questions.lesson_effect import Effect
from dashboard.address import Address
from dashboard.pages.lessons import MEASURES, verdict


def _lesson_causes(fleet: Fleet, address: Address) -> pl.DataFrame:
    return fleet.lesson_causes()


def _lessons(fleet: Fleet, address: Address) -> pl.DataFrame:
    rows = [
        {
            "day": one.lesson.day,
            "cause": one.lesson.cause,
            "label": one.label,
            "attended": len(one.lesson.attended),
            "left_out": one.left_out,
            "measure": name,
            **vars(one.periods),
            **_counts(getattr(one, name)),
            "verdict": verdict(one, getattr(one, name)),
            "note": one.lesson.note,
            "recorded_by": one.lesson.who,
            "recorded_at": one.lesson.recorded_at,
        }
        for one in fleet.lessons()
        for name in MEASURES
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def _counts(effect: Effect) -> dict[str, Any]:
    groups = {
        "attended_before": effect.attended_before,
        "attended_after": effect.attended_after,
        "others_before": effect.others_before,
        "others_after": effect.others_after,
    }
    return (
        {f"{name}_wrong": rate.numerator for name, rate in groups.items()}
        | {f"{name}_of": rate.denominator for name, rate in groups.items()}
        | {"technicians_attended": effect.attended, "technicians_others": effect.others}
        | {"change": effect.change, "low": effect.low, "high": effect.high}
    )


TABLES_OF_LESSONS: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "lesson_causes": _lesson_causes,
    "lessons": _lessons,
}
