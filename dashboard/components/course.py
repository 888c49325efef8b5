"""Whether the callback rate went up or down, in a sentence."""

from dash import html

from analytics.filters import Filters
from analytics.questions.half_years import MONTHS, HalfYears
from dashboard.address import last_of_month, to_calls
from dashboard.components.answer import Words
from dashboard.words import percent


def course(filters: Filters, found: HalfYears | None) -> Words:
    """Return the sentence on the last two half-years, or nothing where there are none to compare.

    Parameters
    ----------
    filters : Filters
        The calls it is about, for the links.
    found : HalfYears or None
        From `analytics.questions.half_years`.
    """
    if found is None or not percent(found.now.rate, min(found.now.denominator, found.before.denominator)):
        return []
    now = filters.but(closed_from=found.now_from, closed_to=last_of_month(found.now_from, MONTHS))
    before = filters.but(closed_from=found.before_from, closed_to=last_of_month(found.before_from, MONTHS))
    now_share = percent(found.now.rate, found.now.denominator)
    before_share = percent(found.before.rate, found.before.denominator)
    return [
        "In the last six months that can be judged ",
        html.A(now_share, href=to_calls(now, "came_back")),
        f" came back, {_direction(found)} ",
        html.A(before_share, href=to_calls(before, "came_back")),
        f" in the six before: {_verdict(found)}.",
    ]


def _direction(found: HalfYears) -> str:
    return "down from" if found.difference < 0 else "up from" if found.difference > 0 else "as against"


def _verdict(found: HalfYears) -> str:
    if found.beyond_chance:
        return f"the {'drop' if found.difference < 0 else 'rise'} is more than chance"
    return "no more than chance may bring"
