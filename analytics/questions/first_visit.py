"""Why first visits fail: first-time fix and the reasons against it, of all calls and by group."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS
from analytics.questions.clustering import design_effects
from analytics.questions.first_time_fix import first_time_fix, first_time_fix_let_in
from analytics.questions.labelling import group_labels
from analytics.questions.parts_aboard import PartsAboard
from analytics.questions.selecting import Selection
from analytics.questions.spoiled import REASONS, spoiled
from analytics.rates import Counted, Rate, rates

Effect = Callable[[str], float | None]
OVERLAPPING = ("symptom", "part")
"""Groupings of which a call can be in several groups, so that they do not add up."""


@dataclass(frozen=True)
class FirstVisits:
    """First visits of one group.

    Parameters
    ----------
    group : str or None
        Code, id, or first day of the month in ISO form; None: not recorded, or all calls.
    label : str
        The words to show for it.
    rate, let_in : Rate
        First-time fix, and the same where somebody let us in on every visit. Without any visit loaded
        `rate` is named "closed_without_return", and `let_in` is of no calls. Groups have no design effect.
    calls : int
        Calls chosen, of whatever kind.
    fixed_by_phone : int
        Completed calls without a visit.
    reasons : dict of str to int
        Calls not fixed the first time, by the first reason that applies, as in `spoiled.REASONS`.
    """

    group: str | None
    label: str
    rate: Rate
    let_in: Rate
    calls: int
    fixed_by_phone: int
    reasons: dict[str, int]

    @property
    def failed(self) -> int:
        """Calls not fixed the first time."""
        return sum(self.reasons.values())


@dataclass(frozen=True)
class FirstVisit:
    """Why first visits fail.

    Parameters
    ----------
    whole : FirstVisits
        All calls chosen.
    reasons : pl.DataFrame
        What spoiled them, as from `Fleet.spoiled`.
    grouping : str or None
        One of `GROUPINGS`, or None.
    groups : list of FirstVisits
        Most calls not fixed the first time first, and what is not recorded last; months in order of time,
        technicians by their calls.
    aboard : PartsAboard
        Second trips for a part, and which parts would have saved them.
    has_visits : bool
        Whether any visit was loaded.
    """

    whole: FirstVisits
    reasons: pl.DataFrame
    grouping: str | None
    groups: list[FirstVisits]
    aboard: PartsAboard
    has_visits: bool

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "has_visits": self.has_visits,
            "whole": _plain(self.whole),
            "reasons": self.reasons.drop("subset").to_dicts(),
            "grouping": self.grouping,
            "groups": [_plain(group) for group in self.groups],
            "parts_aboard": self.aboard.to_dict(),
        }


def first_visits(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str | None
) -> tuple[FirstVisits, pl.DataFrame, list[FirstVisits]]:
    """Return the first visits of all calls chosen, what spoiled them, and those of each group.

    Raises
    ------
    BadQuestion
        When there is no such grouping.
    """
    if by is not None and by not in GROUPINGS:
        raise BadQuestion(f"First visits can not be given by '{by}'. Choose one of {', '.join(GROUPINGS)}.")
    rows = _counted(cursor, chosen, by or "none")
    whole = _counted(cursor, chosen, "none") if by in OVERLAPPING else rows
    total = whole.select(pl.exclude("group_code").sum()).row(0, named=True)
    effects = design_effects(cursor, chosen.values, total["judged"])
    (everything,) = _visits(chosen, [total | {"group_code": None}], {None: "all calls"}, effects.of)
    if by is None:
        return everything, spoiled(total), []
    labels = group_labels(cursor, by, rows["group_code"].to_list())
    groups = _visits(chosen, rows.to_dicts(), labels, lambda count: None)
    return everything, spoiled(total), _ordered(groups, by)


def _counted(cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str) -> pl.DataFrame:
    return queries.frame(cursor, "metrics/first_visit_by", chosen.values | {"by": by})


def _visits(
    chosen: Selection, rows: list[dict[str, Any]], labels: dict[str | None, str], effect: Effect
) -> list[FirstVisits]:
    has_visits = chosen.values["has_visits"]
    counted: list[Counted] = []
    for row in rows:
        left_out = {"not_completed": row["not_completed"]}
        counted += [first_time_fix(row, has_visits, left_out, effect), first_time_fix_let_in(row)]
    found = iter(rates(counted))  # all at once: there may be a thousand technicians
    return [
        FirstVisits(
            group=row["group_code"],
            label=labels[row["group_code"]],
            rate=rate,
            let_in=let_in,
            calls=row["calls"],
            fixed_by_phone=row["fixed_by_phone"],
            reasons={reason: row[f"spoiled_{reason}"] for reason in REASONS},
        )
        for row, rate, let_in in zip(rows, found, found, strict=True)
    ]


def _ordered(groups: list[FirstVisits], by: str) -> list[FirstVisits]:
    if by == "month":
        return sorted((one for one in groups if one.group), key=lambda one: one.group or "", reverse=True)

    def weight(one: FirstVisits) -> int:
        failed = 0 if by == "technician" else one.rate.numerator  # people are never ordered by how they did
        return one.rate.denominator - failed

    return sorted(groups, key=lambda one: (one.group is None, -weight(one), one.label))


def _plain(visits: FirstVisits) -> dict[str, Any]:
    return {
        "group": visits.group,
        "label": visits.label,
        visits.rate.name: asdict(visits.rate),
        "first_time_fix_let_in": asdict(visits.let_in),
        "fixed_by_phone": visits.fixed_by_phone,
        "reasons": visits.reasons,
    }
