"""The headline figures: callback rate and first-time fix, whole and by group."""

from dataclasses import replace

import duckdb

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS
from analytics.questions.answers import Figures, GroupFigures
from analytics.questions.clustering import design_effects, effects_of_all, sample_for
from analytics.questions.counting import Counts
from analytics.questions.first_time_fix import first_time_fix, first_time_fix_let_in
from analytics.questions.labelling import group_labels
from analytics.questions.notes import notes
from analytics.questions.reading import Reading
from analytics.questions.selecting import Selection
from analytics.questions.warnings import recording_differs, warnings
from analytics.rates import Counted, rates

CAME_BACK = {"family": "came_back_family", "any": "came_back_any"}


def headline(read: Reading, chosen: Selection, counted: Counts) -> Figures:
    """Answer `Fleet.figures` without groups, from the counts."""
    has_visits = chosen.values["has_visits"]
    counts = counted.totals
    counts["open"] = counted.by_state.get("open", 0)
    judged = counts["judged"]
    bent = read.meanwhile(lambda other: warnings(other.cursor, chosen, counts, sample_for(judged)))
    effects = effects_of_all(read, chosen, judged)
    left_out = _left_out(counted.by_state)
    family, any_symptom, first_time, let_in = rates(
        [
            _callbacks(counts[name], counts, left_out, effects.of(name))
            for name in (CAME_BACK["family"], CAME_BACK["any"])
        ]
        + [first_time_fix(counts, has_visits, left_out, effects.of), first_time_fix_let_in(counts)]
    )
    return Figures(
        callback_rate=family if chosen.filters.match == "family" else any_symptom,
        callback_rate_family=family,
        callback_rate_any=any_symptom,
        first_time_fix_rate=first_time,
        first_time_fix_let_in=let_in,
        counts=counts,
        ends=chosen.ends,
        warnings=bent(),
        notes=notes(counts, has_visits, effects.sampled),
    )


def grouped(read: Reading, chosen: Selection, whole: Figures, by: str) -> Figures:
    """Add the figures of each group to those of all calls chosen."""
    if by not in GROUPINGS:
        raise BadQuestion(f"Figures can not be given by '{by}'. Choose one of {', '.join(GROUPINGS)}.")
    differs = read.meanwhile(lambda other: recording_differs(other.cursor, chosen, by))
    groups = _groups(read.cursor, chosen, by)
    return replace(whole, grouping=by, groups=groups, warnings=whole.warnings + differs())


def _callbacks(
    came_back: int, counts: dict[str, int], left_out: dict[str, int], design_effect: float | None
) -> Counted:
    return Counted(came_back, counts["judged"], counts["young"], left_out, design_effect, "callback_rate")


def _left_out(by_state: dict[str, int]) -> dict[str, int]:
    """Return the calls that are no completed calls, by reason, the most frequent first."""
    reasons = [(state, calls) for state, calls in by_state.items() if state != "completed"]
    return dict(sorted(reasons, key=lambda reason: (-reason[1], reason[0])))


def _groups(cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str) -> list[GroupFigures]:
    match, has_visits = chosen.filters.match, chosen.values["has_visits"]
    rows = queries.frame(cursor, "metrics/figures_by", chosen.values | {"by": by}).to_dicts()
    effects = design_effects(cursor, chosen.values, sum(row["judged"] for row in rows), by)
    labels = group_labels(cursor, by, [row["group_code"] for row in rows])
    counted = []
    for row in rows:
        left_out = {"not_completed": row["not_completed"]}
        effect = effects.of_group(row["group_code"]).of
        counted += [_callbacks(row[name], row, left_out, effect(name)) for name in CAME_BACK.values()]
        counted.append(first_time_fix(row, has_visits, left_out, effect))
    found = iter(rates(counted))
    groups = [
        GroupFigures(
            group=row["group_code"],
            label=labels[row["group_code"]],
            callback_rate=family if match == "family" else any_symptom,
            callback_rate_any=any_symptom,
            first_time_fix_rate=first_time,
        )
        for row, family, any_symptom, first_time in zip(rows, found, found, found, strict=True)
    ]
    if by == "month":
        return sorted((group for group in groups if group.group), key=lambda one: one.group or "")
    return sorted(groups, key=lambda one: (-one.callback_rate.denominator, one.label))
