"""Take back: a file or a whole load, with what that changes shown first."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.errors import UnknownRecord
from analytics.intake import changing
from analytics.intake.changing import State
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.changes import ROLE, TAKE_BACK, TRY, button, form, progress
from dashboard.components.exhibit import exhibit
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import notices
from dashboard.components.table import Cell, Table, column, noted
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, listed, number

QUESTION = "What would taking it back change?"


def content(view: View) -> Content:
    """Return the page."""
    asked = {name: view.address.options.get(name, "") for name in ("file", "load")}
    chosen = {name: int(value) for name, value in asked.items() if value.isdecimal() and len(value) < 10}
    if len(chosen) != 1:
        raise UnknownRecord("Choose on the page Data which file or load is to be taken back.")
    state = view.fleet.changing().state()
    what = _named(view, chosen)
    last = _last(state, chosen)
    problem = last["problem"] if last else ""
    fresh = last and not problem and _holds(view, chosen, last)
    parts = progress(state, href("/take-back", None, **chosen))
    if not parts:
        parts = _next(chosen, what, last if fresh else None, problem)
    return page(
        QUESTION,
        *notices([problem] if problem else []),
        answer(_said(what, last if fresh else None)),
        evidence(*parts),
        counted_how(
            [
                "The records become what they would be had it never been loaded: the rows it brought go, "
                "rows that it replaced stand again as they were, rows it withdrew count again. Phrases that "
                "were settled stay settled.",
                "A file whose rows were compared with those of this one is taken back with it, and can be "
                "loaded again.",
                "It makes a generation of its own. To undo it, bring the file again; or, as long as nothing "
                "else was loaded, go back one generation.",
            ]
        ),
    )


def _named(view: View, chosen: dict[str, int]) -> str:
    if "load" in chosen:
        return f"load {chosen['load']}"
    for frame in (view.fleet.files(), view.fleet.taken_back()):
        names = frame.filter(frame["file_id"] == chosen["file"])["file_name"].to_list()
        if names:
            return f"{names[0]}"
    raise UnknownRecord("There is no such file. Look at the list of files on the page Data.")


def _holds(view: View, chosen: dict[str, int], last: dict[str, Any]) -> bool:
    """Say whether what was counted or done is still so: nothing was loaded since, or it is still gone."""
    if last["kind"] == changing.TRY:
        return last["said"]["generation"] == view.fleet.generation().get("number")
    if "load" in chosen:
        return view.fleet.files(chosen["load"]).is_empty()
    return chosen["file"] not in view.fleet.files()["file_id"]


def _last(state: State, chosen: dict[str, int]) -> dict[str, Any] | None:
    """The last trial or taking back of this file or load."""
    files, load = [chosen["file"]] if "file" in chosen else [], chosen.get("load")
    for each in state.done:
        values = each["values"]
        if each["kind"] in (changing.TRY, changing.TAKE_BACK) and (values["files"], values["load"]) == (
            files,
            load,
        ):
            return each
    return None


def _said(what: str, last: dict[str, Any] | None) -> Words:
    if last is None:
        return [f"What taking {what} back would change is counted first."]
    said = last["said"]
    done = last["kind"] == changing.TAKE_BACK
    gone = sum(each["brought"] for each in said["files"])
    back = sum(each["put_back"] + each["unwithdrawn"] for each in said["files"])
    words: Words = [
        f"{counted(gone, 'row')} {'went' if done else 'would go'}, {number(back)} earlier "
        f"{'stand' if done else 'would stand'} again: ",
        html.Strong(
            f"{number(said['before']['calls'])} calls before, {number(said['after']['calls'])} after"
        ),
        f"; callbacks {number(said['before']['callbacks'])} before, "
        f"{number(said['after']['callbacks'])} after.",
    ]
    if said["later"]:
        words.append(
            f" With it {'went' if done else 'would go'} {listed(said['later'][:5])}, to be loaded again."
        )
    return [f"Taken back: {what}. ", *words] if done else words


def _next(chosen: dict[str, int], what: str, last: dict[str, Any] | None, problem: str) -> list[Component]:
    address = {name: str(value) for name, value in chosen.items()}
    if last is None:
        later = {"later": "1"} if problem and "hangs on" in problem else {}
        words = "Count it with those" if later else "Count what would change"
        return [
            exhibit(
                "Count it first",
                form(href(TRY, None, **address, **later), button(words), named=words),
                lead="Everything is done and counted, and then thrown away.",
            )
        ]
    parts: list[Component] = [exhibit("File by file", _table(last["said"]["files"]))]
    if last["kind"] == changing.TRY:
        later = {"later": "1"} if last["values"]["with_later"] else {}
        words = f"Take {what} back"
        parts.append(
            exhibit(
                "Take it back?",
                [
                    form(href(TAKE_BACK, None, **address, **later), button(words), named=words),
                    html.P(html.A("Leave it as it is", href="/data"), className="more"),
                ],
            )
        )
    else:
        parts.append(html.P(html.A("Back to Data", href="/data"), className="more"))
    return parts


def _table(files: list[dict[str, Any]]) -> Table:
    cells: list[list[Cell]] = [
        [
            noted(each["file"], f"{each['table'].replace('_', ' ')}, from {each['source']}"),
            number(each["rows"]),
            number(each["brought"]),
            number(each["put_back"]),
            number(each["unwithdrawn"]),
        ]
        for each in files
    ]
    columns = [
        column("File"),
        column("Rows", "number"),
        column("Rows that go", "number"),
        column("Replaced, stand again", "number"),
        column("Withdrawn, count again", "number"),
    ]
    return Table("What taking back changes, file by file", columns, cells, layout="stack")


PAGE = Page(
    "/take-back",
    "Take back",
    QUESTION,
    content,
    parameters=("file", "load"),
    filtered=False,
    in_navigation=False,
    newest=True,
    role=ROLE,
)
