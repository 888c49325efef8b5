"""One table as one component: cells are plain data, drawn by assets/table.js as a native HTML table.

Several hundred cells as single Dash components take the browser about a second and the server much of its
time for a page; the same rows as data take neither.
"""

from collections.abc import Sequence
from typing import Any

from dash.development.base_component import Component

from dashboard.words import interval, percent

Cell = str | dict[str, Any] | None


class Table(Component):
    """A table of text, links and marks.

    Parameters
    ----------
    caption : str
        What the table holds; read out by screen readers, shown when `caption_shown`.
    columns : list of dict
        One per column, see `column`.
    rows : list of list
        One list of cells per row: text, or a dict made by `link`, `noted`, `interval_mark` or `bar_mark`.
    row_kinds : list of str
        Class of each row, for rows that are not alike; empty where they are.
    layout : str
        "wide": scrolls sideways inside its own frame where it does not fit; "stack": on a phone each row
        becomes a block of labelled lines; "marks": on a phone the mark takes a line of its own.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "Table"
    _prop_names = ["id", "caption", "caption_shown", "columns", "rows", "row_kinds", "layout"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(
        self,
        caption: str,
        columns: Sequence[dict[str, Any]],
        rows: Sequence[Sequence[Cell]],
        layout: str = "wide",
        caption_shown: bool = False,
        row_kinds: Sequence[str] = (),
        id: str | None = None,
    ) -> None:
        given = ({"id": id} if id else {}) | ({"row_kinds": row_kinds} if row_kinds else {})
        super().__init__(
            caption=caption, caption_shown=caption_shown, columns=columns, rows=rows, layout=layout, **given
        )


def column(label: str, kind: str = "text", **more: Any) -> dict[str, Any]:
    """Describe a column.

    Parameters
    ----------
    label : str
        Heading.
    kind : str
        "text", "number" (right-aligned, digits of one width), "rate" (the number that matters most) or
        "mark".
    **more
        `href` and `sorted` ("ascending", "descending") for a heading that sorts; for marks `scale` (value at
        the right end, same unit as the marks), `reference` (value of the thin rule), `ends` (texts at both
        ends).
    """
    return {"label": label, "kind": kind, **more}


def link(text: str, href: str, spoken: str | None = None, note: str | None = None) -> Cell:
    """Make a cell that leads somewhere; `spoken` names the link where the text alone does not."""
    return {key: value for key, value in _parts(text, href, spoken, note) if value}


def _parts(text: str, href: str, spoken: str | None, note: str | None) -> list[tuple[str, str | None]]:
    return [("text", text), ("href", href), ("spoken", spoken), ("note", note)]


def noted(text: str, note: str) -> Cell:
    """Make a cell with a second, smaller line."""
    return {"text": text, "note": note}


def interval_mark(
    value: float | None, low: float | None, high: float | None, hollow: bool = False, flagged: bool = False
) -> Cell:
    """Make a dot with its interval as a line; hollow where most calls are too young to judge."""
    if value is None:
        return ""
    return (
        {"dot": value, "low": low, "high": high}
        | ({"hollow": True} if hollow else {})
        | ({"flagged": True} if flagged else {})
    )


def bar_mark(value: float) -> Cell:
    """Make a bar from zero, for counts and shares of a whole."""
    return {"bar": value}


def nice_scale(highest: float) -> float:
    """Round the right end of a scale up to a number that reads well."""
    if highest <= 0:
        return 1.0
    power = 10.0 ** len(str(int(highest))) if highest >= 1 else 1.0
    while power / 10 >= highest:
        power /= 10
    return next(
        power * step for step in (0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0) if power * step >= highest
    )


def share_text(share: float | None, calls: int) -> str:
    """Write a share for a table cell; fewer than 5 calls are written as "few"."""
    return percent(share, calls) or "too few"


def interval_text(low: float | None, high: float | None, calls: int) -> str:
    """Write an interval for a table cell; empty where no percentage may be shown."""
    return interval(low, high, calls) if percent(low, calls) and low is not None else ""
