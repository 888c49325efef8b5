"""The forms by which somebody decides on one row of a list; each sends one decision."""

from collections.abc import Mapping
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from dashboard.address import href
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.field import Field
from dashboard.words import capital, day

PATH = "/decisions"
NOT_SORTED = "not sorted yet"


def deciding(
    title: str, kind: str, row: Mapping[str, Any], filters: Filters, sortings: Mapping[str, str], back: str
) -> Component:
    """Return the forms for one row.

    Parameters
    ----------
    title : str
        What the row is.
    kind : str
        Kind of thing, one of `analytics.decisions.KINDS`.
    row : mapping
        Columns key, reviewed_at, note, reviewed_by; of a return also sorted, remark, remark_by.
    filters : Filters
        Carried along, so that the same view comes back.
    sortings : mapping of str to str
        Ways to sort a return: words by code.
    back : str
        Address without the forms.
    """
    forms = [_mark(kind, row, filters)]
    if kind == "return":
        forms = [_sort(row, filters, sortings), _remark(row, filters), *forms]
    return html.Div(
        [
            html.H3(title, tabIndex="-1"),
            html.Div(forms, className="forms"),
            html.P(html.A("Close without saving", href=back), className="more"),
        ],
        id="deciding",
        className="deciding",
        role="group",
        **spoken(title),
    )


def _form(
    matter: str, kind: str, row: Mapping[str, Any], filters: Filters, *parts: Component, named: str
) -> Component:
    to = href(PATH, filters, matter=matter, about=kind, item=row["key"])
    return html.Form(list(parts), action=to, method="post", className="decide", **spoken(named))


def _button(words: str, value: str, second: bool = False) -> Component:
    return html.Button(
        words, type="submit", name="value", value=value, className="second" if second else "first"
    )


def _who(of: str, value: str | None) -> Component:
    return Field(f"who-{of}", "who", "Who (may stay blank)", value or "", most=100, rows=1)


def _sort(row: Mapping[str, Any], filters: Filters, sortings: Mapping[str, str]) -> Component:
    options: list[Option] = [("", NOT_SORTED), *((code, words) for code, words in sortings.items())]
    choice = Choice(
        "sort",
        "value",
        options,
        row["sorted"] or "",
        before="Why it came back, as you see it",
        layout="block",
    )
    save = html.Button("Sort", type="submit", className="first")
    return _form("sorted", "return", row, filters, choice, save, named="Sort the return by hand")


def _remark(row: Mapping[str, Any], filters: Filters) -> Component:
    remark = Field("remark", "value", "The technician's own remark", row["remark"] or "", rows=3)
    save = html.Button("Keep the remark", type="submit", className="first")
    who = _who("remark", row["remark_by"])
    return _form("remark", "return", row, filters, remark, who, save, named="The technician's own remark")


def _mark(kind: str, row: Mapping[str, Any], filters: Filters) -> Component:
    note = Field("note", "note", "Note (may stay blank)", row["note"] or "", rows=3)
    buttons = [_button("Mark reviewed", "yes")]
    if row["reviewed_at"] is not None:
        buttons = [_button("Keep this note", "yes"), _button("Take the mark back", "", second=True)]
    who = _who("note", row["reviewed_by"])
    return _form("reviewed", kind, row, filters, note, who, *buttons, named="Mark it reviewed")


def review_cell(
    row: Mapping[str, Any], address: str, what: str, sortings: Mapping[str, str]
) -> dict[str, Any]:
    """Return the last cell of a row: how far it was reviewed, and the way to the forms."""
    sorted_as = sortings.get(row.get("sorted") or "", "")
    by = f", {row['reviewed_by']}" if row["reviewed_by"] else ""
    done = f"reviewed {day(row['reviewed_at'])}{by}" if row["reviewed_at"] is not None else ""
    said = "; ".join(each for each in (sorted_as, done, row["note"] or "") if each)
    words = "Change" if said else "Sort, mark" if "sorted" in row else "Mark"
    cell = {"text": words, "href": address, "spoken": f"{words}: {what}"}
    return cell | ({"note": capital(said)} if said else {})
