"""Is it getting better, and since when? By month or week, call after call, and the day of a change."""

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.fleet_time import PERIODS
from analytics.questions.half_years import half_years
from dashboard.address import href
from dashboard.components.answer import answer
from dashboard.components.attributes import spoken
from dashboard.components.changing import LEAST_WORDS, change_exhibit, change_in_words, sums_exhibit
from dashboard.components.choice import Choice, Option
from dashboard.components.course import course
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people_watched
from dashboard.components.sentence import sentence
from dashboard.components.states import no_calls, notices
from dashboard.components.trend import month_exhibit
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted

QUESTION = "Is it getting better?"
MOST_WEEKS = 104
HOW = (
    "By month or week: the rate of calls whose window has passed, with limits three standard deviations "
    "from the mean of all of them, pooled (p-chart). Beyond a limit, and nine in a row on one side of "
    "the mean (Nelson 1984, test 2; where at least 5 returns would be usual in each), is more than "
    "chance. Months with calls that are too soon to judge are estimated from all their calls, as far as "
    "each has been followed (Aalen-Johansen, as on How soon), and are held against no limit; “not yet "
    "known”: fewer than 5 of their calls were followed through the window. A week is the ISO week, from "
    "Monday.",
    "Sums of evidence: each call adds the logarithm of how much likelier what happened is with doubled "
    "odds of coming back, or with halved ones, than with what was expected of it; a sum never falls "
    "below zero (risk-adjusted CUSUM; Steiner, Cook, Farewell and Treasure 2000). What is expected of a "
    "chosen depot, technician, part or product family comes from a fit without its calls, over the last "
    "two years, as on Compare; where none is chosen, calls are held against the rate of their own first "
    "year, taken as known. The limits come from series drawn without any change from the group's own "
    "expectations, for a year of its calls. They take calls for independent: calls of one unit hang "
    "together, so false alarms are a little more frequent.",
    "The day of a change has the highest likelihood for two rates, one before and one after it "
    f"({LEAST_WORDS}), given what was expected. Days whose likelihood ratio lies within the 95% point "
    "of its limiting distribution (Hansen 2000) are the range given. Whether there is any change at all "
    "is tested with 999 series drawn without one, the largest difference over all days in each; both "
    "are widened by the design effect of units. One step is sought: a slow drift, or the seasons, also "
    "look like one. The rates before and after are those of the day that divides them most, so they lie "
    "a little too far apart.",
)


def content(view: View) -> Content:
    """Return the page."""
    period = view.address.one_of("each", PERIODS, PERIODS[0])
    watched = view.fleet.meanwhile(lambda fleet: fleet.over_time(view.filters))
    frame = view.fleet.rates_over_time(view.filters, period)
    filters = sentence(view.address, view.choices, view.path)
    if frame.is_empty():
        return page(QUESTION, filters, no_calls(view.path))
    found = watched()
    months = frame if period == "month" else view.fleet.rates_over_time(view.filters)
    return page(
        QUESTION,
        notices(about_people_watched(view.filters)),
        filters,
        answer(change_in_words(view.filters, found), course(view.filters, half_years(months))),
        evidence(
            _rates(view, frame, period),
            sums_exhibit(view.filters, found),
            change_exhibit(view.filters, found),
        ),
        counted_how(HOW),
    )


def _rates(view: View, frame: pl.DataFrame, period: str) -> Component:
    options: list[Option] = [("" if name == PERIODS[0] else name, name) for name in PERIODS]
    choice = Choice("choice-each", "each", options, "" if period == PERIODS[0] else period, before="Rates by")
    kept = href("", view.filters).removeprefix("?")
    form = html.Form(choice, className="sentence", **spoken("Month or week", keep=kept))
    shown = frame.tail(MOST_WEEKS) if period == "week" else frame
    return month_exhibit(
        view.filters, shown, period, "over_time", [form], _earlier(frame.height - shown.height)
    )


def _earlier(left: int) -> list[Component]:
    if not left:
        return []
    words = f"{counted(left, 'earlier week')} in the CSV; choose the months above to see them here."
    return [html.P(words, className="more")]


PAGE = Page("/over-time", "Over time", QUESTION, content, parameters=("each",))
