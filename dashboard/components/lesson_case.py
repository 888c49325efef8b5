"""A case to teach with, on one sheet: what was said, steps to open one by one, questions, the outcome."""

from collections.abc import Sequence

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.lesson_case import Case, Step, Trip
from dashboard.components.cautions import caution_list
from dashboard.components.table import Table, column
from dashboard.words import as_words, capital, counted, number

ASKED = {
    "check": "What would you check next?",
    "part": "What would you fit or mend?",
    "closed": "How would you leave it?",
}
MADE = {"visit": "Visit", "check": "Checked", "part": "Fitted", "closed": "Closed"}
WHY_FIRST = "With what the customer told us alone: what is it, and what would you check first?"


def case_sheet(case: Case, number_of: int, label: str, says: str, unfolded: bool, to_call: str) -> Component:
    """Return one case.

    Parameters
    ----------
    case : Case
    number_of : int
        Its number in the lesson, from 1.
    label, says : str
        Its kind, and the rule by which it was picked.
    unfolded : bool
        Everything open, as on paper.
    to_call : str
        Address of its first call.
    """
    name = f"case-{number_of}"
    family = as_words(case.product_family or "", case.product_family or "")
    first, *later = case.trips
    return html.Article(
        [
            html.H2(f"Case {number_of}: {label.lower()}", id=name),
            html.P(says, className="lead"),
            html.H3("What the customer said"),
            html.P(f"{capital(first.complaint)}{f'; product family: {family}' if family else ''}."),
            html.Blockquote(f"“{case.complaint}”") if case.complaint else None,
            _said(case.said, number_of),
            html.H3("What happened, step by step"),
            _trip(first, later, unfolded, case),
            html.H3("Questions for the class"),
            html.Ol([html.Li(_fold(asked, [html.P(told)], unfolded)) for asked, told in questions(case)]),
            html.H3("How it came out"),
            _fold("What it turned out to be", _outcome(case, to_call), unfolded),
            caution_list(pl.DataFrame({"caution": case.cautions or ["a"]})),
        ],
        className="case",
        id=f"sheet-{number_of}",
    )


def _fold(asked: str, told: Sequence[Component], unfolded: bool) -> Component:
    return html.Details([html.Summary(asked), html.Div(list(told))], open=unfolded, className="play")


def _said(said: list[tuple[str, str]], number_of: int) -> Component:
    if not said:
        return html.P("Nothing else was asked.")
    rows = [[label, capital(words)] for label, words in said]
    caption = f"What the customer told us, case {number_of}"
    return Table(caption, [column("Question"), column("Answer")], rows)


def _trip(trip: Trip, later: Sequence[Trip], unfolded: bool, case: Case) -> Component:
    """Return the steps of one call, and folded at its end the call that followed."""
    lines = [_line(step, unfolded) for step in trip.steps]
    if not trip.steps:
        lines = [html.Li("No step of it is recorded.")]
    if not later:
        return html.Ol(lines, className="steps")
    thought = case.thought if trip is case.trips[0] else trip.thought
    after = [
        html.P(f"It was thought to be: {thought}.") if thought else None,
        html.P(f"Day {later[0].day}: they rang again: {later[0].complaint}."),
        _trip(later[0], later[1:], unfolded, case),
    ]
    shown = [each for each in after if each is not None]
    then = html.Li(_fold("Was it right? What happened then?", shown, unfolded))
    return html.Ol([*lines, then], className="steps")


def _line(step: Step, unfolded: bool) -> Component:
    told = html.P(in_words(step))
    return html.Li(_fold(ASKED[step.kind], [told], unfolded) if step.kind in ASKED else told)


def in_words(step: Step) -> str:
    """Say one step: "Day 3: checked: seep test (8 drops, fault)"."""
    detail = f" ({step.detail})" if step.detail else ""
    what = f": {step.what}{detail}" if step.what else ""
    return f"Day {step.day}. {MADE[step.kind]}{what}."


def questions(case: Case) -> list[tuple[str, str]]:
    """Return questions for the class, each with its answer, as far as the case has one."""
    found = []
    if case.sign:
        sign = case.sign
        found.append(
            (
                "Which answer of the customer points somewhere?",
                f"{sign['label']}: {sign['words']}. It is given by {number(sign['strings'])} of "
                f"{number(sign['of'])} strings of returns of the lesson's cause, and by "
                f"{number(sign['others'])} of {number(sign['of_others'])} of others with the same kind of "
                "complaint.",
            )
        )
    if case.shown:
        reading = f" Here: {case.shown.reading}." if case.shown.reading else ""
        found.append(("Which check shows it?", f"{capital(case.shown.check)}.{reading}"))
        if case.shown.limits:
            found.append(
                ("Which reading is healthy, and in which unit?", f"{capital('; '.join(case.shown.limits))}.")
            )
    if case.apart:
        apart = case.apart
        found.append(
            (
                f"Which check would have told it from this: {apart.other}?",
                f"{capital(apart.check)}, {number(apart.minutes)} minutes: by the catalogue it finds a fault "
                f"{100 * apart.finds:.0f} times in 100 where it is what this was, "
                f"{100 * apart.finds_other:.0f} times where it is the other.",
            )
        )
    return [(WHY_FIRST, "Gather what the class says before the first step is opened."), *found]


def _outcome(case: Case, to_call: str) -> list[Component]:
    trips = counted(len(case.trips), "call")
    thought = "right at first" if case.thought == case.cause else f"thought first: {case.thought}"
    held = "It held." if case.held else "It did not hold."
    return [
        html.P([html.Strong(capital(case.cause)), f" ({thought})."]),
        html.P(f"{trips}, {counted(case.days, 'day')} from ringing to the last closing. {held}"),
        html.P(html.A(f"Call {case.episode_id}", href=to_call), className="more"),
    ]
