"""How the callback rate and first-time fix were counted: definitions, what was left out, and until when."""

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.answers import Figures
from analytics.questions.subsets import SUBSETS
from dashboard.address import to_calls
from dashboard.components.page import counted_how
from dashboard.components.sentence import MATCH_WORDS
from dashboard.words import capital, day, number

COUNTED_APART = (
    "open",
    "return_trips",
    "install_returns",
    "same_day_pairs",
    "fixed_by_phone",
    "symptom_not_recognised",
    "outcome_not_recognised",
    "retired_inside_window",
)
_SUBSET_OF = {"same_day_pairs": "same_day"}


def callback_counting(filters: Filters, found: Figures) -> Component:
    """Return the section for pages on the callback rate and first-time fix."""
    window = filters.window_days
    definition = [
        f"A repair came back when another call on the same unit, for {MATCH_WORDS[filters.match]}, was "
        f"opened within {window} days ({window} times 24 hours) of its closing. A return is counted against "
        "one repair only: the one closed latest before it. Return trips to finish a call that waited for a "
        "part are not returns.",
        f"The rate is taken over completed repairs that closed at least {window} days before the records "
        "end, so that each had the same time to come back. Younger ones are in neither number, whether or "
        "not they have come back.",
        "Fixed the first time: one visit, and no return. Repairs that are returns themselves are left out.",
        "The interval is Wilson's for a proportion at 95%. It treats calls as independent; several calls of "
        "one unit are not quite"
        + _design_effect(found)
        + ". Groups are shown as they are, not adjusted for the mix of work.",
        "A call that does not come back is not proof of a cure: the rate is a lower limit of failure.",
        *found.notes,
    ]
    return counted_how(definition, [*_left_out(filters, found), *_apart(filters, found), *_ends(found)])


def _design_effect(found: Figures) -> str:
    effect = found.callback_rate.design_effect
    return "" if effect is None else f" (design effect of units: {effect:.2f})"


def _link(count: int, filters: Filters, subset: str) -> Component | str:
    return html.A(number(count), href=to_calls(filters, subset)) if subset in SUBSETS else number(count)


def _left_out(filters: Filters, found: Figures) -> list[tuple[str, Component | str]]:
    reasons = {"too soon to say": ("inside_window", found.callback_rate.inside_window)}
    for reason, count in found.callback_rate.left_out.items():
        subset = f"left_out:{reason}"
        reasons[SUBSETS.get(subset, reason).removeprefix("left out: ")] = (subset, count)
    return [
        (f"Left out: {words}", _link(count, filters, subset))
        for words, (subset, count) in reasons.items()
        if count
    ]


def _apart(filters: Filters, found: Figures) -> list[tuple[str, Component | str]]:
    rows = []
    for name in COUNTED_APART:
        subset = _SUBSET_OF.get(name, name)
        if found.counts.get(name) and subset in SUBSETS:
            rows.append((capital(SUBSETS[subset]), _link(found.counts[name], filters, subset)))
    return rows


def _ends(found: Figures) -> list[tuple[str, Component | str]]:
    return [
        (
            f"Records of {end.source}{', ' + end.depot if end.depot else ''} end",
            f"{day(end.ends_at)} ({end.ends_from})",
        )
        for end in found.ends
    ]
