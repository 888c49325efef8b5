"""What an old filter does, as the sentences at the top of its page."""

import polars as pl
from dash import html

from analytics.questions.filter_age import ALL, LINKED, FilterAge
from dashboard.components.answer import Words
from dashboard.words import counted, number, percent

MUCH_LATER = 0.1


def can_not_tell() -> Words:
    """Say that without time at risk no rate can be told."""
    return [
        html.Strong("How often units fail by filter age can not be told"),
        ": no unit has a known day of installation or filter change, so only failures can be counted. A "
        "fleet full "
        "of old filters has many calls with old filters. Files of units and filter_changes would tell.",
    ]


def told(found: FilterAge) -> Words:
    """Say how often units fail past six months and before."""
    past = found.past_of(ALL, "6")
    if past["ratio"] is None:
        return ["Too little time was watched past six months to compare."]
    return [
        "Past six months, units fail ",
        html.Strong(f"{past['rate_past']:.1f} times per 1,000 unit-months"),
        f", before that {past['rate_young']:.1f}: a ratio of ",
        html.Strong(f"{past['ratio']:.2f}"),
        f" (95% interval {past['ratio_low']:.2f} to {past['ratio_high']:.2f}{_widened(found)}).",
    ]


def _widened(found: FilterAge) -> str:
    """Say the limits that allow for units that fail again and again."""
    wide = found.course.widened_of(ALL, "6") if found.course else None
    if not wide or wide["low"] is None or wide["high"] is None:
        return ""
    return f"; {wide['low']:.2f} to {wide['high']:.2f} allowing for units that fail again and again"


def held_equal(found: FilterAge) -> Words:
    """Say the ratio with the kind of unit held equal, and of filter-linked failures."""
    common, linked = found.adjusted.common, found.past_of(LINKED, "6")
    words: Words = []
    if common:
        words = [
            f"With the kind of unit held equal it is {common.ratio:.2f} ({common.low:.2f} to "
            f"{common.high:.2f})."
        ]
    if common and found.adjusted.turned:
        words.append(" The two point in different directions (Simpson's paradox): trust the second.")
    if linked["ratio"] is not None:
        words.append(f" Of filter-linked failures alone the ratio is {linked['ratio']:.1f}; see the remark.")
    return words


def unrecorded(found: FilterAge) -> Words:
    """Say that changes nobody recorded blur the ratio, where customers tell of many."""
    later = found.cases.told.row(by_predicate=pl.col("told") == "later", named=True)
    share = percent(later["share"], int(found.cases.told["failures"].sum()))
    if not share or later["share"] < MUCH_LATER:
        return []
    return [
        "Changes that nobody recorded make filters look older than they are and draw the ratio "
        "towards 1: on ",
        html.A(share, href="#told"),
        " of the failures where both are known, customers told a later change than the records have.",
    ]


def about(found: FilterAge) -> Words:
    """Say what was counted, and what it is not."""
    return [
        f"{counted(found.failures, 'failure')} in {number(found.months)} unit-months of "
        f"{counted(found.units, 'unit')}. An association, no proof that the filter is the cause."
    ]
