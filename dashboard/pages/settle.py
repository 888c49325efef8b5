"""Settle phrases: what was not recognised, most frequent first; one click says what it means."""

from collections.abc import Mapping
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.fleet_changing import phrase_key
from analytics.intake import changing
from analytics.intake.proposing_phrases import Understood
from dashboard.address import href, to_call
from dashboard.changing import NOTHING
from dashboard.components.answer import Words, answer
from dashboard.components.changes import ROLE, SETTLE, button, form, problems, progress
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lists import pager
from dashboard.components.loads import field_words, shortened
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.phrases import Labels, in_its_calls, why
from dashboard.components.states import notices
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, number

QUESTION = "What do these phrases mean?"
PHRASES_A_PAGE = 10
MOST_SETTLED = 50


def content(view: View) -> Content:
    """Return the page."""
    at = view.address.page_number("page")
    state = view.fleet.changing().state()
    asked = {
        phrase_key(each["values"]["field"], each["values"]["text"])
        for each in state.queued
        if each["kind"] == changing.SETTLE
    }
    rows, total = view.fleet.unrecognised(None, (at - 1) * PHRASES_A_PAGE, PHRASES_A_PAGE)
    settled = view.fleet.settled()
    said: Words = [
        html.Strong(counted(total, "phrase")),
        " not recognised." if total else " left: every one was recognised or settled.",
    ]
    if settled.height:
        said = [*said, f" {counted(settled.height, 'phrase')} settled by people."]
    if asked:
        said = [*said, f" {counted(len(asked), 'phrase')} being settled now."]
    return page(
        QUESTION,
        *notices(problems(state, [changing.SETTLE])),
        answer(said),
        evidence(
            *progress(state, href("/settle", None, page=at)),
            *_phrases(view, rows, total, at, asked),
            *_settled(view, settled, at),
        ),
        counted_how(
            [
                "What a phrase is settled to mean counts in every figure, for what is loaded and for what "
                "comes; upper and lower case and spaces around do not matter. It can be undone.",
                "Proposals come from the words of phrases whose meaning is known, and from what the calls "
                "with the phrase turned out to be or were about, compared with calls whose meaning is known; "
                "both are believed as far as they told the meaning of known texts of the same kind. The "
                "likeliest comes first, last that of the most alike phrase of the catalogue.",
                "On phrases held out, put into the calls of an invented fleet, the right one was among the "
                "first three for 94 of 105 complaints (92 by the words alone), for 58 of 65 in an office's "
                "own language (21 by the words alone). Where nothing is known yet of the calls, it "
                "is no better than the words alone. Read the calls: one cause can have many complaints.",
                "Settling makes a new generation of the data, in the background. Phrases settled meanwhile "
                "wait and are taken together.",
            ]
        ),
    )


def _phrases(view: View, rows: pl.DataFrame, total: int, at: int, asked: set[str]) -> list[Component]:
    if rows.is_empty():
        return []
    proposed: dict[tuple[str, str], Understood] = {}
    calls: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for (field,), part in rows.group_by("field", maintain_order=True):
        name, texts = str(field), part["text"].to_list()
        for text, known in zip(texts, view.fleet.proposals(name, texts), strict=True):
            proposed[name, text] = known
        for row in view.fleet.phrase_examples(name, texts).iter_rows(named=True):
            calls.setdefault((name, row["text"]), []).append(row)
    facts = {"cause": view.fleet.meanings("root_cause"), "symptom": view.fleet.meanings("complaint")}
    found = [(row["field"], row["text"], row["rows"]) for row in rows.iter_rows(named=True)]
    shown = [
        _phrase(
            view.fleet.meanings(field),
            facts,
            field,
            text,
            count,
            proposed[field, text],
            calls.get((field, text), []),
            at,
        )
        for field, text, count in found
        if phrase_key(field, text) not in asked
    ]
    return [
        exhibit(
            "Most frequent first",
            [
                html.Div(shown, className="phrases"),
                pager("phrases", total, at, lambda n: href("/settle", None, page=n), PHRASES_A_PAGE),
            ],
            lead="Press what a phrase means, or choose it from all meanings.",
            tools=[keep_csv("/export.csv?table=phrases", "phrases not recognised")],
            id="phrases",
        )
    ]


def _phrase(
    labels: Mapping[str, str],
    facts: Labels,
    field: str,
    text: str,
    rows: int,
    known: Understood,
    calls: list[dict[str, Any]],
    at: int,
) -> Component:
    key = phrase_key(field, text)
    options: list[Option] = [("", "choose"), *labels.items(), (NOTHING, "means nothing")]
    told = f"{field_words(field)}, {counted(rows, 'row')}.".capitalize()
    buttons: list[Component] = [
        html.Div(
            [
                button(labels[each.code], second=True, name="code", value=each.code),
                html.Span(why(each, facts), className="why"),
            ],
            className="proposal",
        )
        for each in known.meanings
        if each.code in labels
    ]
    return html.Section(
        [
            html.H3(html.Q(shortened(text))),
            html.P(f"{told} {in_its_calls(known.turned_out, facts)}".strip(), className="lead"),
            html.Ul([_example(field, call) for call in calls], className="plain"),
            form(
                href(SETTLE, None, phrase=key, page=at),
                html.Div(buttons, className="proposals"),
                html.Div(
                    [
                        Choice(f"all-{key}", "chosen", options, "", before="Or any meaning", layout="block"),
                        button("Settle"),
                    ],
                    className="any-meaning",
                ),
                named=f"What it means: {shortened(text)}",
            ),
        ],
        className="phrase",
    )


def _example(field: str, call: Mapping[str, Any]) -> Component:
    complaint = (
        ""
        if field == "complaint" or not call["complaint"]
        else f"rang about “{shortened(call['complaint'])}”"
    )
    cause = (
        ""
        if field == "root_cause" or not call["root_cause"]
        else f"turned out: “{shortened(call['root_cause'])}”"
    )
    told = "; ".join(each for each in (complaint, cause) if each)
    return html.Li(
        [
            html.A(f"Call {call['call_id']}", href=to_call(call["call_id"])),
            f", {day(call['opened_at'])}{': ' + told if told else ''}",
        ]
    )


def _settled(view: View, settled: pl.DataFrame, at: int) -> list[Component]:
    if settled.is_empty():
        return []
    shown = []
    for row in settled.head(MOST_SETTLED).iter_rows(named=True):
        labels = view.fleet.meanings(row["field"])
        meaning = ", ".join(labels.get(code, code) for code in row["codes"]) or "nothing"
        shown.append(
            html.Li(
                [
                    html.Div(
                        [html.Q(shortened(row["text"])), f" ({field_words(row['field'])}) means {meaning}"]
                    ),
                    form(
                        href(SETTLE, None, phrase=phrase_key(row["field"], row["text"]), page=at),
                        button("Undo", second=True, name="undo", value="yes"),
                        named=f"Undo: {shortened(row['text'])}",
                    ),
                ]
            )
        )
    left = f"The first {MOST_SETTLED} of {number(settled.height)}." if settled.height > MOST_SETTLED else ""
    return [
        exhibit(
            f"{counted(settled.height, 'phrase')} settled",
            html.Ul(shown, className="settled plain"),
            lead=f"By hand, or by the words of a mapping. {left}".strip(),
            tools=[keep_csv("/export.csv?table=settled", "phrases settled")],
            id="settled",
        )
    ]


PAGE: Page = Page(
    "/settle",
    "Settle phrases",
    QUESTION,
    content,
    parameters=("page",),
    filtered=False,
    in_navigation=False,
    newest=True,
    role=ROLE,
)
