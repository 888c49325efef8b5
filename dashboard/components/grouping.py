"""By what figures are given: the words, the choice, and the filters of one group."""

from datetime import date

from dash import html
from dash.development.base_component import Component

from analytics.filters import CHOSEN_BY, Filters
from dashboard.address import href, last_of_month
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option

BY_WORDS = {
    "depot": "depot",
    "technician": "technician",
    "symptom": "complaint",
    "cause": "what it turned out to be",
    "part": "part fitted",
    "product_family": "product family",
    "month": "month of closing",
}


def grouping_form(filters: Filters, by: str, before: str) -> Component:
    """Return the choice of the grouping; "depot" is the one without a word in the address."""
    options: list[Option] = [("" if name == "depot" else name, words) for name, words in BY_WORDS.items()]
    choice = Choice("choice-by", "by", options, "" if by == "depot" else by, before=before)
    kept = href("", filters).removeprefix("?")
    return html.Form(choice, className="sentence", **spoken("Grouping", keep=kept))


def group_filters(filters: Filters, by: str, group: str | None) -> Filters:
    """Return the filters narrowed to the group of this code; None: where it is not recorded."""
    if by == "month" and group:
        first = date.fromisoformat(group[:10])
        return filters.but(closed_from=first, closed_to=last_of_month(first))
    return filters.but(**{CHOSEN_BY[by]: (group or "",)}) if by in CHOSEN_BY else filters
