"""The headline figures: callback rate and first-time fix, whole and by group."""

from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS, Filters
from analytics.questions.answers import Figures, GroupFigures
from analytics.questions.clustering import DesignEffects, design_effects
from analytics.questions.labelling import group_labels
from analytics.questions.notes import notes
from analytics.questions.selecting import Selection, selection, window_bit
from analytics.questions.warnings import warnings
from analytics.rates import Rate

NO_WORK_DONE = ("cancelled", "no_access", "referred_on", "estimate_declined", "part_on_order", "duplicate")


def figures(cursor: duckdb.DuckDBPyConnection, filters: Filters, by: str | None) -> Figures:
    """Answer `Fleet.figures`."""
    if by is not None and by not in GROUPINGS:
        raise BadQuestion(f"Figures can not be given by '{by}'. Choose one of {', '.join(GROUPINGS)}.")
    chosen = selection(cursor, filters)
    values = chosen.values | {"install_bit": window_bit(filters.window_days, "family")}
    states = queries.frame(cursor, "metrics/figures", values)
    has_visits = bool(queries.frame(cursor, "metrics/has_visits").item())
    counts = _counts(states)
    effects = design_effects(cursor, values, counts["judged"])
    left_out = left_out_by_state(states)
    callback = {"inside_window": counts["young"], "left_out": left_out}
    family, any_symptom = (
        Rate.of(
            counts[f"came_back_{match}"],
            counts["judged"],
            design_effect=effects.of(f"came_back_{match}"),
            name="callback_rate",
            **callback,
        )
        for match in ("family", "any")
    )
    return Figures(
        callback_rate=family if filters.match == "family" else any_symptom,
        callback_rate_family=family,
        callback_rate_any=any_symptom,
        first_time_fix_rate=first_time_fix(counts, has_visits, left_out, effects),
        first_time_fix_let_in=Rate.of(
            counts["let_in_fixed"], counts["let_in_judged"], name="first_time_fix_rate"
        ),
        counts=counts,
        grouping=by,
        groups=_groups(cursor, chosen, by, filters.match, has_visits, counts["judged"]) if by else [],
        ends=chosen.ends,
        warnings=warnings(cursor, chosen, filters, by),
        notes=notes(counts, has_visits, effects.sampled),
    )


def left_out_by_state(states: pl.DataFrame) -> dict[str, int]:
    """Return the calls that are no completed calls, by reason; reasons that do not occur are left out."""
    reasons: dict[str, int] = {}
    for state, calls in states.select("state", "calls").iter_rows():
        if state != "completed":
            reasons[state] = calls
    return dict(sorted(reasons.items(), key=lambda reason: -reason[1]))


def first_time_fix(
    counts: dict[str, Any], has_visits: bool, left_out: dict[str, int], effects: DesignEffects | None = None
) -> Rate:
    """Return first-time fix, or what stands in for it where the fleet has no visits at all."""
    effect = effects.of if effects else (lambda rate: None)
    reasons = left_out | (
        {"is_callback": counts["callbacks_completed"]} if "callbacks_completed" in counts else {}
    )
    if not has_visits:
        return Rate.of(
            counts["no_callback_held"],
            counts["no_callback_judged"],
            inside_window=counts["no_callback_young"],
            left_out=reasons,
            design_effect=effect("no_callback_held"),
            name="closed_without_return",
        )
    if "completed_without_visit" in counts:
        reasons |= {"no_visit": counts["completed_without_visit"]}
    return Rate.of(
        counts["first_time_fixed"],
        counts["first_time_judged"],
        inside_window=counts["first_time_young"],
        left_out=reasons,
        design_effect=effect("first_time_fixed"),
        name="first_time_fix_rate",
    )


def _counts(states: pl.DataFrame) -> dict[str, int]:
    """Return the counts over all states."""
    totals = states.select(pl.exclude("state").sum()).row(0, named=True)
    by_state = dict(states.select("state", "calls").iter_rows())
    return {name: int(count) for name, count in totals.items()} | {"open": by_state.get("open", 0)}


def _groups(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str, match: str, has_visits: bool, judged: int
) -> list[GroupFigures]:
    values = chosen.values | {"by": by}
    rows = queries.frame(cursor, "metrics/figures_by", values)
    effects = design_effects(cursor, values, judged, by)
    labels = group_labels(cursor, by, rows["group_code"].to_list())
    groups = [
        _group(row, labels[row["group_code"]], match, has_visits, effects)
        for row in rows.iter_rows(named=True)
    ]
    if by == "month":
        return sorted(groups, key=lambda one: one.group or "")
    return sorted(groups, key=lambda one: (-one.callback_rate.denominator, one.label))


def _group(
    row: dict[str, Any], label: str, match: str, has_visits: bool, effects: DesignEffects
) -> GroupFigures:
    of_group = effects.of_group(row["group_code"])
    left_out = {"not_completed": row["not_completed"]}
    callback = {"inside_window": row["young"], "left_out": left_out, "name": "callback_rate"}
    family, any_symptom = (
        Rate.of(row[came_back], row["judged"], design_effect=of_group.of(came_back), **callback)
        for came_back in ("came_back_family", "came_back_any")
    )
    return GroupFigures(
        group=row["group_code"],
        label=label,
        callback_rate=family if match == "family" else any_symptom,
        callback_rate_any=any_symptom,
        first_time_fix_rate=first_time_fix(row, has_visits, left_out, of_group),
    )
