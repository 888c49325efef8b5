"""Which calls teach it? Real cases of one cause to play in a class, each on a sheet of its own."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.lesson_case_rules import case_rules
from analytics.questions.lesson_cases import LessonCases
from analytics.rates import Counted, rates
from dashboard.address import href, to_call
from dashboard.components.answer import Words, answer
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lesson_case import case_sheet
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import notices, state
from dashboard.components.table import Cell, Table, column, interval_text, link, share_text
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted, listed, number

QUESTION = "Which calls teach it?"
READ_FIRST = (
    "Read each sheet before you print or show it. Technicians are left out, and names, numbers and addresses "
    "are taken out of the customer's words by patterns; of 608 names in invented notes 36 stayed, most of "
    "them bare first names."
)
HOW = (
    "Looked through are strings of returns that turned out to be this cause, or another with the same kind "
    "of complaint: 30 days past their last closing, the cause confirmed. No unit gives two cases. The same "
    "data give the same cases.",
    "An answer points to the cause where it is given at least twice as often as for other causes with the "
    "same kind of complaint, by a tenth or more of the strings of the cause. Answers are given for many "
    "reasons, and one alone proves nothing.",
    "Days are counted from the day of ringing. The last call's cause is what it turned out to be; an earlier "
    "call's is what was thought then. Notes of technicians are not shown.",
    "What a check would have told apart is by the catalogue's shares, the trade's common practice without a "
    "source; minutes are with what has to be moved first.",
)


def content(view: View) -> Content:
    """Return the page."""
    causes = view.fleet.lesson_causes()
    cause = next((code for code in view.filters.causes if code in set(causes["cause"])), "")
    sentence = _sentence(causes, cause)
    if not cause:
        return page(
            QUESTION, sentence, answer(_best(causes)), evidence(_causes(causes)), counted_how(HOW, _rules())
        )
    found = view.fleet.lesson_cases(cause)
    unfolded = view.address.options.get("unfold") == "all"
    if not found.cases:
        return page(QUESTION, sentence, _none(found), counted_how(HOW, _rules()))
    return page(
        QUESTION,
        sentence,
        answer(_in_words(found), _signs(found), aside=_paper(cause, unfolded)),
        *notices([READ_FIRST]),
        evidence(html.Div(_sheets(found, unfolded), className="cases")),
        counted_how(HOW, _rules()),
    )


def _sentence(causes: pl.DataFrame, cause: str) -> Component:
    options: list[Option] = [("", "choose a cause")]
    options += [(code, label) for code, label in causes.select("cause", "label").iter_rows()]
    choice = Choice("choice-cause", "cause", options, cause, before="Calls that turned out to be")
    return html.Form(html.Div([choice, "."]), className="sentence", **spoken("Which cause", keep=""))


def _best(causes: pl.DataFrame) -> Words:
    row: dict[str, Any] = causes.row(0, named=True) if causes.height else {"wrong": 0}
    if not row["wrong"]:
        return ["No string of returns was thought to be something else first; choose a cause all the same."]
    return [
        "Most often thought to be something else first: ",
        html.A(row["label"], href=_to(row["cause"])),
        f", {number(row['wrong'])} of {number(row['strings'])} strings of returns.",
    ]


def _to(cause: str, **options: str | None) -> str:
    return href("/lesson", Filters(causes=(cause,)), **options)


def _causes(causes: pl.DataFrame) -> Component:
    rows = list(causes.filter(pl.col("strings") > 0).iter_rows(named=True))
    shares = rates([Counted(row["wrong"], row["strings"]) for row in rows])
    columns = [
        column("Cause"),
        column("Wrong at first", "rate"),
        column("Strings", "number"),
        column("95% interval", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            link(capital(row["label"]), _to(row["cause"])),
            share_text(share.rate, share.denominator),
            f"{number(row['wrong'])} of {number(row['strings'])}",
            interval_text(share.low, share.high, share.denominator),
        ]
        for row, share in zip(rows, shares, strict=True)
    ]
    return exhibit(
        "Causes by how many were thought to be something else first",
        Table("Causes", columns, cells, layout="stack"),
        lead="Another cause or no fault; where it went deeper than was thought is not among them.",
        tools=[keep_csv(href("/export.csv", None, table="lesson_causes"), "these causes")],
    )


def _none(found: LessonCases) -> Component:
    return state(
        "No call can be picked for it",
        f"{counted(found.strings, 'string')} of returns of the last {found.months} months turned out to be: "
        f"{found.label}. None fits the rules below.",
        [html.A("Choose another cause", href="/lesson"), "."],
    )


def _in_words(found: LessonCases) -> Words:
    kinds = [
        f"{number(count)} {kind.several}"
        for name, kind in case_rules().kinds.items()
        if (count := sum(each.kind == name for each in found.cases))
    ]
    few = "" if found.enough else f" A lesson wants {case_rules().least}: too few calls fit the rules."
    return [
        html.Strong(counted(len(found.cases), "case")),
        f" to teach “{found.label}” with ({listed(kinds)}), from {counted(found.strings, 'string')} of "
        f"returns of the last {found.months} months.{few}",
    ]


def _signs(found: LessonCases) -> Words:
    if not found.signs:
        return ["No answer of the customer points to it."]
    told = [
        f"{each['label'].lower()}: {each['words']} ({number(each['strings'])} of {number(each['of'])}; of "
        f"others {number(each['others'])} of {number(each['of_others'])})"
        for each in found.signs[:3]
    ]
    return ["Answers that point to it: ", "; ".join(told), "."]


def _paper(cause: str, unfolded: bool) -> Words:
    if unfolded:
        return [html.A("Fold the steps away, to play it in a class", href=_to(cause)), "."]
    return [
        "Steps open one by one, so that a class can play them. On paper everything is open, a sheet a case; ",
        html.A("open everything here", href=_to(cause, unfold="all")),
        ". Afterwards, ",
        html.A("record the lesson", href="/lessons"),
        ".",
    ]


def _sheets(found: LessonCases, unfolded: bool) -> list[Component]:
    kinds = case_rules().kinds
    return [
        case_sheet(
            each, at, kinds[each.kind].label, kinds[each.kind].says, unfolded, to_call(each.episode_id)
        )
        for at, each in enumerate(found.cases, 1)
    ]


def _rules() -> list[tuple[str, str]]:
    kinds = case_rules().kinds.values()
    return [(f"{kind.label}, at most {number(kind.cases)}", kind.says) for kind in kinds]


PAGE = Page(
    "/lesson", "Lesson", QUESTION, content, parameters=("unfold",), filtered=False, in_navigation=False
)
