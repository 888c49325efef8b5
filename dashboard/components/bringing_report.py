"""What would become, or has become, of the rows of a file that was brought."""

from collections.abc import Mapping
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.intake.bringing import Stage
from analytics.intake.bringing_work import plain_words
from analytics.intake.reasons import reasons
from dashboard.components.answer import Words
from dashboard.components.bringing import KEEP, TRY, button, drop_form, form, to_file
from dashboard.components.exhibit import exhibit
from dashboard.components.loads import COUNTS, FIELD_WORDS
from dashboard.components.table import Cell, Table, column
from dashboard.words import capital, counted, listed, number

PARTS = ("loaded", "updated", "repeated", "set_aside")
WORDS = {"loaded": "new", "updated": "changed", "repeated": "known already", "set_aside": "set aside"}


def told(report: Mapping[str, Any], done: bool) -> Words:
    """Return the sentence that accounts for every row."""
    file = report["files"][0]
    parts = [f"{number(file[name])} {WORDS[name]}" for name in PARTS if file[name]]
    if not parts:
        return ["The file has no rows below its header."]
    verb = "Of" if done else "Of its"
    rows = counted(file["rows"], "row")
    sentence: Words = [f"{verb} ", html.Strong(rows), f", {'' if done else 'it would be '}{listed(parts)}."]
    if file["withdrawn"]:
        sentence.append(
            f" {counted(file['withdrawn'], 'row')} of earlier files are gone from it and withdrawn."
        )
    return sentence


def account(stage: Stage) -> Component:
    """Return the rows of the file as a sum, the reasons and why some of them are set aside."""
    file = stage.report["files"][0]
    columns = [column("File"), *[column(words, "number") for words in COUNTS.values()]]
    cells: list[list[Cell]] = [[file["file"], *[number(file[name]) for name in COUNTS]]]
    total = f"{number(file['rows'])} rows = " + " + ".join(
        f"{number(file[name])} {COUNTS[name].lower()}" for name in PARTS
    )
    parts: list[Component] = [Table(f"Rows of {file['file']}", columns, cells, layout="stack")]
    if file["reasons"]:
        why: list[list[Cell]] = [
            [capital(plain_words(reasons()[code].explain())), number(rows)]
            for code, rows in file["reasons"].items()
        ]
        parts.append(
            Table("Why rows are set aside", [column("Why, and what to do"), column("Rows", "number")], why)
        )
    if file["unrecognised"]:
        unknown: list[list[Cell]] = [
            [capital(FIELD_WORDS.get(name, name.replace("_", " "))), number(rows)]
            for name, rows in file["unrecognised"].items()
        ]
        parts.append(
            Table(
                "Rows whose words were not recognised",
                [column("Words of"), column("Rows", "number")],
                unknown,
            )
        )
    if file["messages"]:
        parts.append(
            html.Ul(
                [html.Li(f"{capital(plain_words(each))}.") for each in file["messages"]], className="plain"
            )
        )
    return exhibit("Every row accounted for", parts, lead=f"{total}.", id="account")


def deciding(stage: Stage) -> Component:
    """Return the choice after a trial: keep it, change how it is read, or drop it."""
    token = stage.brought.token
    forms = [form(token, KEEP, button("Keep it"), named="Keep it"), drop_form(token, "Drop it")]
    change = html.A("Change how it is read", href=to_file(token, step="map"))
    return html.Div(
        [html.Div(forms, className="forms"), html.P(change, className="more")], className="bring-decide"
    )


def retry(stage: Stage) -> Component:
    """Return the ways on from a file that is stuck."""
    token = stage.brought.token
    forms = [drop_form(token)]
    if stage.answers is not None:
        forms.insert(0, form(token, TRY, button("Try again"), named="Try again"))
    parts: list[Component] = [html.Div(forms, className="forms")]
    if stage.look.get("header"):
        parts.append(
            html.P(html.A("Change how it is read", href=to_file(token, step="map")), className="more")
        )
    return html.Div(parts, className="bring-decide")
