"""How are our repairs doing? The two headline figures, their course, and where to look next."""

from datetime import date, timedelta

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.answers import Figures
from analytics.questions.half_years import half_years
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, answer, rate_in_words, too_soon
from dashboard.components.counting import callback_counting
from dashboard.components.course import course
from dashboard.components.exhibit import exhibit, keep_csv, more
from dashboard.components.lists import returns_table
from dashboard.components.page import beside, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import MATCH_WORDS, sentence
from dashboard.components.spoilers import spoiler_exhibit
from dashboard.components.states import no_calls, notices
from dashboard.components.trend import month_exhibit
from dashboard.components.warnings import warning_notice
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, percent

QUESTION = "How are our repairs doing?"
LATEST = 5
RECENT_DAYS = 90


def content(view: View) -> Content:
    """Return the page."""
    since = recent(view)
    latest = view.fleet.meanwhile(
        lambda fleet: fleet.returns(view.filters.but(closed_from=since), limit=LATEST)
    )
    found = view.fleet.figures(view.filters)
    filters = sentence(view.address, view.choices, view.path)
    if not found.counts.get("calls"):
        return page(QUESTION, filters, no_calls("/"))
    spoiled = view.fleet.spoiled(view.filters)
    months = view.fleet.by_month(view.filters)
    return page(
        QUESTION,
        notices(about_people(view.filters)),
        filters,
        answer(
            _callbacks(view, found),
            course(view.filters, half_years(months)),
            _first_time(view, found),
            aside=too_soon(found.callback_rate, view.filters),
        ),
        warning_notice(found.warnings, view.filters),
        evidence(
            month_exhibit(view.filters, months),
            beside(
                spoiler_exhibit(view.filters, spoiled, found.first_time_fix_rate),
                _latest(view, since, *latest()),
                layout="narrow-wide",
            ),
        ),
        callback_counting(view.filters, found),
    )


def _callbacks(view: View, found: Figures) -> Words:
    filters = view.filters
    done = f"came back within {filters.window_days} days for {MATCH_WORDS[filters.match]}"
    words = rate_in_words(found.callback_rate, done, filters, "came_back", "judged")
    other = "any" if filters.match == "family" else "family"
    rate = found.callback_rate_any if other == "any" else found.callback_rate_family
    share = percent(rate.rate, rate.denominator)
    if not share or not rate.denominator:
        return [*words, "."]
    address = to_calls(filters.but(match=other), "came_back")
    return [*words, f"; for {MATCH_WORDS[other]} it is ", html.A(share, href=address), "."]


def _first_time(view: View, found: Figures) -> Words:
    rate, filters = found.first_time_fix_rate, view.filters
    if rate.name == "closed_without_return":
        words = rate_in_words(
            rate, "were closed without a return", filters, "first_time_fix", "first_time_judged"
        )
        return [
            *words,
            ". Visits are not recorded, so this is no first-time fix and not to be compared with one.",
        ]
    words = rate_in_words(rate, "were fixed the first time", filters, "first_time_fix", "first_time_judged")
    let_in = found.first_time_fix_let_in
    share = percent(let_in.rate, let_in.denominator) if let_in.denominator else ""
    return [*words, f"; {share} where somebody let us in." if share else "."]


def _latest(view: View, since: date, rows: pl.DataFrame, total: int) -> Component:
    of_late = view.filters.but(closed_from=since)
    if not total:
        words = f"No repair closed since {day(since)} that can be judged has come back."
        return exhibit("No return of late", html.P(words, className="prose"))
    return exhibit(
        f"{counted(total, 'return')} of late",
        [
            returns_table(rows, view.filters, view.fleet.labels, short=True),
            more("All returns", href("/callbacks", view.filters) + "#returns"),
        ],
        lead=f"Of repairs closed since {day(since)}; the latest {rows.height}, each beside its repair.",
        tools=[keep_csv(href("/export.csv", of_late, table="returns"), "returns of late")],
    )


def recent(view: View) -> date:
    """Return the day since when repairs count as recent: a quarter before the last that can be judged."""
    filters = view.filters
    last = min(filter(None, (view.choices["closed"]["last"][0], filters.closed_to, filters.as_of, date.max)))
    since = last - timedelta(days=filters.window_days + RECENT_DAYS)
    return max(since, filters.closed_from or since)


PAGE = Page("/", "Summary", QUESTION, content)
