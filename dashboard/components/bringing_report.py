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
from dashboard.components.loads import COUNTS, FIELD_WORDS, shortened
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
    rows = counted(file["rows"], "row")
    sentence: Words = [html.Strong(rows), f"{' read' if done else ''}: {listed(parts)}."]
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
        parts += _examples(file, stage)
    if file["unrecognised"]:
        unknown: list[list[Cell]] = [
            [capital(FIELD_WORDS.get(name, name.replace("_", " "))), number(rows)]
            for name, rows in file["unrecognised"].items()
        ]
        parts.append(
            Table(
                "Rows whose words were not recognised",
                [column("Words not recognised: which"), column("Rows", "number")],
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


def _examples(file: Mapping[str, Any], stage: Stage) -> list[Component]:
    """Return the first rows set aside as they stand in the file; once loaded, Data has all of them."""
    if not file.get("examples"):
        return [html.P(html.A("See them row by row", href="/data#set-aside"), className="more")]
    header, columns = stage.look["header"], stage.answers.columns if stage.answers else {}
    cells: list[list[Cell]] = [
        [
            number(row["line"]),
            header[columns[row["column_name"]]] if row["column_name"] in columns else "",
            shortened(row["found"]),
            capital(explained(row["reason"])),
        ]
        for row in file["examples"]
    ]
    shown = [column("Line", "number"), column("Column"), column("Found"), column("Why")]
    return [Table("First rows set aside", shown, cells, layout="stack"), *left(len(cells), file["set_aside"])]


def explained(reason: str) -> str:
    """Say what is wrong with a row, without what to do."""
    known = reasons().get(reason)
    return plain_words(known.explain().split(". ")[0]) if known else reason


def left(shown: int, of: int) -> list[Component]:
    """Return the line that says how many rows more are set aside, or nothing where all are shown."""
    if of <= shown:
        return []
    return [
        html.P(f"{counted(of - shown, 'row')} more; once it is kept, Data shows them all.", className="more")
    ]


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
