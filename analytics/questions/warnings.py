"""Warnings: what in the records bends the figures of the calls chosen."""

from collections.abc import Mapping
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.questions.answers import Warning
from analytics.questions.recording import RECORDED, RECORDING_GROUPINGS, recording
from analytics.questions.selecting import Selection

LATE_DAYS = 1.0
"""A median of so many days from last visit to closing means closing by paperwork (our convention)."""

RECORDING_DIFFERS_BY = 0.10
COMPARED_FROM = 20
"""Groups with fewer calls are not compared (our convention)."""


def warnings(
    cursor: duckdb.DuckDBPyConnection,
    chosen: Selection,
    counts: Mapping[str, int],
    sample: int,
) -> list[Warning]:
    """Return what bends the figures with these counts; the median is taken from that sample of units."""
    rare = queries.frame(cursor, "metrics/warnings", chosen.values | {"sample": sample}).row(0, named=True)
    counted = dict(counts) | rare
    found = [
        _dates_without_times(counted),
        _closed_by_paperwork(counted),
        _visits_after_closing(counted),
        _office_flag_differs(counted),
        _leak_after_our_work(counted, chosen.filters.window_days),
    ]
    return [warning for warning in found if warning]


def recording_differs(cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str) -> list[Warning]:
    """Return where groups differ in how much they write down; only places and people are compared."""
    if by not in RECORDING_GROUPINGS:
        return []
    shares = recording(cursor, chosen, by)
    compared = shares.filter(pl.col("calls") >= COMPARED_FROM, pl.col("group").is_not_null())
    found = [_differs(compared, name, words, by) for name, words in RECORDED.items()]
    return [warning for warning in found if warning]


def _dates_without_times(n: dict[str, Any]) -> Warning | None:
    if not n["same_day_pairs"]:
        return None
    return Warning(
        "dates_without_times",
        f"{n['without_times']:,} of {n['completed']:,} completed calls have a date without a time of day. "
        f"{n['same_day_pairs']:,} pairs of calls fall on the day of closing: whether the later one is a "
        "return can not be told, and it is not counted as one.",
        {name: n[name] for name in ("without_times", "completed", "same_day_pairs")},
        "same_day",
    )


def _closed_by_paperwork(n: dict[str, Any]) -> Warning | None:
    median = n["median_lag_days"]
    between = n["returns_before_closing"]
    late = median is not None and median >= LATE_DAYS
    if not late and not between:
        return None
    usual = f" (half of all calls later than {median:.1f} days)" if late else ""
    return Warning(
        "closed_by_paperwork",
        f"{n['closed_late']:,} calls were closed a day or more after the last visit{usual}. "
        f"{between:,} returns were opened in between: they came before the closing and are not counted.",
        {"median_lag_days": median, "closed_late": n["closed_late"], "returns_before_closing": between},
        "returned_before_closing" if between else "closed_by_paperwork",
    )


def _visits_after_closing(n: dict[str, Any]) -> Warning | None:
    if not n["visited_after_closing"]:
        return None
    return Warning(
        "visits_after_closing",
        f"{n['visited_after_closing']:,} calls have a visit after their closing "
        f"({n['visits_after_closing']:,} visits): callbacks may be hidden by opening the old call again.",
        {name: n[name] for name in ("visited_after_closing", "visits_after_closing")},
        "visits_after_closing",
    )


def _office_flag_differs(n: dict[str, Any]) -> Warning | None:
    marked = n["flagged_both"] + n["flagged_by_office_only"]
    if not marked or not (n["flagged_by_office_only"] or n["flagged_by_us_only"]):
        return None
    return Warning(
        "office_flag_differs",
        f"The office marks {marked:,} calls as callbacks. "
        f"{n['flagged_both']:,} are callbacks by this page's rule too, {n['flagged_by_office_only']:,} are "
        f"not, and {n['flagged_by_us_only']:,} callbacks by the rule carry no mark.",
        {name: n[name] for name in ("flagged_both", "flagged_by_office_only", "flagged_by_us_only")},
        "flagged_by_office_only" if n["flagged_by_office_only"] else "flagged_by_us_only",
    )


def _leak_after_our_work(n: dict[str, Any], window_days: int) -> Warning | None:
    if not (leaks := n["leaks_after_our_work"]):
        return None
    return Warning(
        "leak_after_our_work",
        f"After {leaks:,} calls on which a water part was fitted, and no leak had been complained of, a leak "
        f"was reported within {window_days} days: likely from our work. Being another kind of complaint, it "
        "is no callback for the same kind of complaint.",
        {"leaks_after_our_work": leaks, "window_days": window_days},
        "leak_after_our_work",
    )


def _differs(shares: pl.DataFrame, name: str, words: str, by: str) -> Warning | None:
    share = f"{name}_share"
    if shares.height < 2:
        return None
    least, most = shares.sort(share).row(0, named=True), shares.sort(share).row(-1, named=True)
    if most[share] - least[share] <= RECORDING_DIFFERS_BY:
        return None
    return Warning(
        "recording_differs",
        f"How often the {words} is written down differs by {by}: {least['label']} {least[share]:.0%} of "
        f"{least['calls']:,} calls, {most['label']} {most[share]:.0%} of {most['calls']:,}. "
        "Not written down is not the same as not done.",
        {
            "recorded": name,
            "lowest": least["group"],
            "lowest_share": least[share],
            "highest": most["group"],
            "highest_share": most[share],
        },
    )
