"""The form on which each of our columns is put beside one of theirs, with what only a person can answer."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.intake.bringing import Stage
from analytics.intake.bringing_answers import MOST_CHARACTERS, Answers
from analytics.intake.contract import Column, Table, table_named
from analytics.intake.switched_off import switched_off
from dashboard.components.bringing import ANSWER, button, drop_form, form
from dashboard.components.bringing_words import Labels, words_asked
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit
from dashboard.components.field import Field
from dashboard.words import capital, counted, listed

LONGEST_EXAMPLE = 40
NOT_THERE = "not in this file"
SURETY = {"sure": "Sure", "likely": "Likely", "perhaps": "Perhaps; please check"}


def mapping_form(stage: Stage, labels: Labels) -> Component:
    """Return the form.

    Parameters
    ----------
    stage : Stage
        Of a file that is asked about.
    labels : callable
        Words of the codes of a coding field, by code.
    """
    answers = stage.answers
    assert answers is not None
    table = table_named(answers.table)
    found = [each for each in table.columns.values() if each.name in answers.columns or _needed(table, each)]
    absent = [each for each in table.columns.values() if each not in found]
    return form(
        stage.brought.token,
        ANSWER,
        exhibit(
            "What do its columns mean?",
            [html.Div([_row(stage, answers, table, each) for each in found], className="map-rows")],
            lead="On the left what we look for, in the list the column of the file that holds it.",
            id="columns",
        ),
        *_absent(stage, answers, table, absent),
        *words_asked(stage, answers, labels),
        _about(answers),
        html.Div([button("Try it")], className="map-send"),
        named="How to read this file",
        kind="bring-map",
    )


def leaving(stage: Stage) -> Component:
    """Return the way out without loading."""
    return html.Div(drop_form(stage.brought.token), className="map-leave")


def _needed(table: Table, each: Column) -> bool:
    return each.required or each.name in table.either


def _row(stage: Stage, answers: Answers, table: Table, each: Column) -> Component:
    look, asked = stage.look, stage.suggested
    place = answers.columns.get(each.name)
    options: list[Option] = [("", NOT_THERE)]
    options += [(str(at), _option(name, look["examples"][at])) for at, name in enumerate(look["header"])]
    needed = (
        " (needed)" if each.required else " (one of these is needed)" if each.name in table.either else ""
    )
    choice = Choice(
        f"column-{each.name}",
        f"column.{each.name}",
        options,
        "" if place is None else str(place),
        before=capital(each.meaning) + needed,
        layout="block",
    )
    said: list[Component] = []
    if place is not None and asked["columns"].get(each.name) == place:
        said.append(html.P(f"{SURETY[asked['surety'][each.name]]}: {asked['because'][each.name]}."))
    if place is not None and look["examples"][place]:
        said.append(html.P(["In the file: ", *_marked(look["examples"][place])]))
    off = switched_off().get(table.name, {}).get(each.name)
    if place is None and needed:
        said.append(html.P("Choose the column of the file that holds it."))
    elif place is None:
        said.append(html.P(f"Without it: {off}." if off else "Without it nothing is lost from the figures."))
    questions = [
        *_dates(stage, answers, each.name),
        *_sign(asked, answers, each.name),
        *_unit(asked, answers, each.name),
    ]
    return html.Div([html.Div(choice), html.Div(said, className="why"), *questions], className="map-row")


def _option(header: str, examples: Sequence[str]) -> str:
    example = examples[0][:LONGEST_EXAMPLE] if examples else "empty"
    return f"{header or '(no name)'} (such as {example})" if examples else f"{header or '(no name)'} (empty)"


def _marked(examples: Sequence[str]) -> list[Component | str]:
    parts: list[Component | str] = []
    for each in examples:
        parts += [html.Q(each[:LONGEST_EXAMPLE]), " "]
    return parts


def _dates(stage: Stage, answers: Answers, name: str) -> list[Component]:
    asked, chosen = stage.suggested["dates"].get(name), answers.dates.get(name, "")
    order = stage.suggested["orders"].get(name)
    if asked is None and not chosen:
        return (
            [html.P(f"Its dates are written {order}: some of them can be nothing else.", className="ask")]
            if order
            else []
        )
    asked = asked or {"example": "", "row": []}
    ways: list[Option] = [("", "please choose")]
    for way in ("day first", "month first"):
        meant = asked.get(way.replace(" ", "_"))
        ways.append((way, f"{meant} ({way})" if meant else way))
    if chosen == "year first":
        ways.append((chosen, chosen))
    row = [f"{header or '(no name)'}: {value}" for header, value in asked["row"]]
    told = (
        f"“{asked['example']}” can be two days, and no date of the file tells which. It stands in the row "
        f"{'; '.join(row)}."
        if asked["example"]
        else "Its dates can be read with the day or with the month first."
    )
    before = f"Which day is “{asked['example']}”?" if asked["example"] else "Which comes first?"
    choice = Choice(f"date-{name}", f"date.{name}", ways, chosen, before=before, layout="block")
    return [html.Div([html.P(told), choice], className="ask")]


def _sign(asked: Mapping[str, Any], answers: Answers, name: str) -> list[Component]:
    open_, chosen = asked["decimals"].get(name), answers.decimals.get(name, "")
    if open_ is None and not chosen:
        return []
    ways: list[Option] = [
        ("", "please choose"),
        (
            "comma",
            f"{open_['comma']} (the comma parts the decimals)" if open_ else "the comma parts the decimals",
        ),
        (
            "point",
            f"{open_['point']} (the comma parts the thousands)" if open_ else "the comma parts the thousands",
        ),
    ]
    before = f"How much is “{open_['example']}”?" if open_ else "What does the comma mean?"
    return [
        html.Div(
            Choice(f"decimal-{name}", f"decimal.{name}", ways, chosen, before=before, layout="block"),
            className="ask",
        )
    ]


def _unit(asked: Mapping[str, Any], answers: Answers, name: str) -> list[Component]:
    if name not in asked["units"]:
        return []
    units: list[Option] = [("", "each as it is written"), *((unit, unit) for unit in asked["units"][name])]
    choice = Choice(
        f"unit-{name}",
        f"unit.{name}",
        units,
        answers.units.get(name, ""),
        before="Its numbers are in",
        layout="block",
    )
    return [html.Div(choice, className="ask")]


def _absent(stage: Stage, answers: Answers, table: Table, absent: Sequence[Column]) -> list[Component]:
    unused = [
        name or "(no name)"
        for at, name in enumerate(stage.look["header"])
        if at not in answers.columns.values()
    ]
    if not absent and not unused:
        return []
    if not absent:
        return [exhibit("Not used of this file", html.P(f"Nothing takes up {listed(unused)}."), id="absent")]
    told = switched_off().get(table.name, {})
    most = [re.split("[;:,]", each.meaning)[0] for each in absent if each.name in told][:3]
    parts = [f"Among them: {listed(most)}."] if most else []
    parts += [f"Of the file, nothing takes up {listed(unused)}."] if unused else []
    rows = html.Div([_row(stage, answers, table, each) for each in absent], className="map-rows")
    return [
        exhibit(
            f"Not found in this file: {counted(len(absent), 'column')} of ours",
            html.Details([html.Summary("Show them, and what each would switch on"), rows], className="twin"),
            lead=" ".join(parts),
            id="absent",
        )
    ]


def _about(answers: Answers) -> Component:
    whole: list[Option] = [
        ("", "part of their records, such as one month"),
        ("yes", "everything their system has: what is gone from it is withdrawn here"),
    ]
    return exhibit(
        "About this file",
        html.Div(
            [
                Field(
                    "name",
                    "name",
                    "Name to keep this way of reading under",
                    answers.name,
                    most=MOST_CHARACTERS,
                    rows=1,
                ),
                Field(
                    "sender",
                    "sender",
                    "Who sent it (may stay blank)",
                    answers.sender,
                    most=MOST_CHARACTERS,
                    rows=1,
                ),
                Field(
                    "extracted",
                    "extracted",
                    "Day it was taken from their system (may stay blank)",
                    answers.extracted,
                    rows=1,
                    kind="date",
                ),
                Choice(
                    "full",
                    "full",
                    whole,
                    "yes" if answers.full_extract else "",
                    before="It holds",
                    layout="block",
                ),
            ],
            className="map-about",
        ),
        lead="The day decides which of two versions of a row is newer. Files with the same columns are known "
        "again by what you keep here.",
        id="about",
    )
