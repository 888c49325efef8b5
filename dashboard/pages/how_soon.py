"""How long until they ring again? The share that came back, by days since closing, followed for a year."""

from dash import html
from dash.development.base_component import Component

from analytics.filters import GROUPINGS
from analytics.questions.ringing_again import FOLLOWED_DAYS, LEAST_AT_RISK, RingingAgain, WaitCurve
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, answer
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png, left_to_csv
from dashboard.components.grouping import BY_WORDS, group_filters, grouping_form
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import MATCH_WORDS, sentence
from dashboard.components.states import no_calls, notices
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.figures.waits import MOST_LINES, waits
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, interval, number, percent

QUESTION = "How long until they ring again?"
MOST_GROUPS = 60
NOT_KNOWN = "not yet known"
HOW = (
    "A repair waits from its closing until the first return counted against it. The wait ends unseen "
    "when a later repair of the unit takes over, when the unit is retired (both are competing events), "
    f"or when the records end; after {FOLLOWED_DAYS} days it is not followed further. The share is the "
    "cumulative incidence by Aalen and Johansen: calls that could not be followed so long count as far "
    "as they were. Over calls that all were, it is the callback rate.",
    "The interval takes calls of different units for independent; it is widened by the design effect of"
    " units. The test between groups (log-rank, of the rate at which calls come back at each age) takes"
    f" all calls for independent. Where fewer than {LEAST_AT_RISK} calls were followed so long, the "
    "share is not yet known.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", GROUPINGS, "depot")
    found = view.fleet.ringing_again(view.filters, by=by)
    filters = sentence(view.address, view.choices, view.path)
    if not found.whole.calls:
        return page(QUESTION, filters, no_calls(view.path))
    return page(
        QUESTION,
        notices(about_people(view.filters, by)),
        filters,
        answer(_in_words(view, found.whole), aside=_followed(found.whole)),
        evidence(_curve(view, found, by)),
        counted_how(HOW),
    )


def _in_words(view: View, whole: WaitCurve) -> Words:
    days = [view.filters.window_days, FOLLOWED_DAYS]
    said: list[Words] = []
    for row in whole.marks.filter(whole.marks["days"].is_in(days)).iter_rows(named=True):
        within = f" within {row['days']} days"
        share = percent(row["share"], whole.calls) if row["share"] is not None else NOT_KNOWN
        limits = interval(row["low"], row["high"], whole.calls)
        known = f"{within} (95% interval {limits})" if row["share"] is not None and share else within
        said.append([html.Strong(share or "too few to say"), known])
    calls = html.A(number(whole.calls), href=to_calls(view.filters, "completed"))
    alike = f", for {MATCH_WORDS[view.filters.match]}."
    return ["Of ", calls, " repairs came back: ", *said[0], "; ", *said[-1], alike]


def _followed(whole: WaitCurve) -> Words:
    return [
        f"Followed for up to {number(whole.known_days)} days; what was not followed so long is estimated."
    ]


def _curve(view: View, found: RingingAgain, by: str) -> Component:
    shown = found.groups[:MOST_GROUPS]
    drawn = f" and of each {BY_WORDS[by]}" if len(found.groups) <= MOST_LINES else ""
    return exhibit(
        _finding(found, by),
        [
            grouping_form(view.filters, by, "Curves by"),
            chart(
                "waits",
                waits(found.whole, found.groups, view.filters.window_days),
                f"Share of repairs that came back by days since closing, of all calls{drawn}.",
            ),
            _table(view, [found.whole, *shown], by),
            *left_to_csv(len(shown), len(found.groups), "group"),
        ],
        lead="Share that came back, by days since closing; grey: 95% interval; dotted: the window chosen. "
        "“est.”: some calls were not followed so long.",
        tools=[
            keep_png(
                href("/figure.json", view.filters, chart="waits", by=by),
                "days-until-they-ring-again",
                "curve",
            ),
            keep_csv(href("/export.csv", view.filters, table="waits", by=by), "curve"),
        ],
    )


def _finding(found: RingingAgain, by: str) -> str:
    test = found.test
    if test is None:
        return "Share that came back, by days since closing"
    chance = f"log-rank test, p {'below 0.001' if test.p < 0.001 else f'= {test.p:.3f}'}"
    what = BY_WORDS[by]
    if test.p < 0.05:
        return f"How soon they come back differs by {what} ({chance}), not adjusted for the mix of work"
    return f"No difference by {what} beyond chance ({chance})"


def _table(view: View, curves: list[WaitCurve], by: str) -> Table:
    marks = curves[0].marks["days"].to_list()
    columns = [
        column(BY_WORDS[by].capitalize()),
        column("Calls", "number"),
        *[column(f"{days} days", "rate" if days == view.filters.window_days else "number") for days in marks],
        column("Followed for", "number"),
    ]
    rows = [_row(view, curve, by, whole=not at) for at, curve in enumerate(curves)]
    return Table("Share that came back within so many days", columns, rows, layout="stack")


def _row(view: View, curve: WaitCurve, by: str, whole: bool) -> list[Cell]:
    filters = view.filters if whole else group_filters(view.filters, by, curve.group)
    calls = number(curve.calls)
    name = "All" if whole else as_words(curve.group or "", curve.label)
    return [
        name,
        link(calls, to_calls(filters, "completed"), f"{calls} completed calls, {name}"),
        *[_cell(row, curve.calls) for row in curve.marks.iter_rows(named=True)],
        f"{number(curve.known_days)} days",
    ]


def _cell(row: dict[str, float | None], calls: int) -> Cell:
    share = row["share"]
    if share is None:
        return NOT_KNOWN
    words = percent(share, calls)
    if not words:
        return "too few"
    limits = interval(row["low"], row["high"], calls)
    return noted(f"{words} est." if row["estimated"] else words, limits)


PAGE = Page("/how-soon", "How soon", QUESTION, content, parameters=("by",))
