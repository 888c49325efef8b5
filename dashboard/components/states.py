"""What a page shows when it can not answer: nothing loaded, no call, another file needed, a failure."""

from collections.abc import Sequence

from dash import html
from dash.development.base_component import Component


def state(title: str, *paragraphs: Sequence[str | Component] | str) -> Component:
    """Return a block that says what is the matter and what to do next."""
    return html.Div(
        [html.H2(title), *[html.P(list(p) if not isinstance(p, str) else p) for p in paragraphs]],
        className="state",
    )


def nothing_loaded() -> Component:
    """Return the state before the first load."""
    return state(
        "Nothing is loaded yet",
        [html.A("Bring a file of service calls", href="/bring"), ", as it comes from your system."],
        ["Or load it at a terminal: ", html.Code("service-calls load calls.csv")],
        [
            "Five columns are enough: call, unit, date, complaint, what was found. To see the pages with an "
            "invented company first: ",
            html.Code("service-calls demo"),
        ],
        "This page shows the data at its next request; nothing has to be restarted.",
    )


def no_calls(clear: str) -> Component:
    """Return the state when the filters leave no call."""
    return state(
        "No calls fit these choices",
        [html.A("Clear all choices", href=clear), ", or widen the months or the kind of complaint above."],
    )


def needs(what: str, column: str, table: str) -> Component:
    """Return the state of an exhibit that another file or column would switch on.

    Parameters
    ----------
    what : str
        What could be shown.
    column, table : str
        The column that is needed, and the table it belongs to.
    """
    return html.P(
        [
            f"{what} needs the column ",
            html.Code(column),
            " of the ",
            html.Code(table),
            " file. Load one and it appears here.",
        ],
        className="prose",
    )


def not_found(title: str, sentence: str) -> Component:
    """Return the state for a page, call or unit that does not exist."""
    return state(
        title,
        sentence,
        [html.A("Look through all calls", href="/calls"), " or go to the ", html.A("summary", href="/"), "."],
    )


def failed(reference: str) -> Component:
    """Return the state after a fault of the program; the log has the details under the reference."""
    return state(
        "This page could not be made",
        f"The fault is noted in the log under reference {reference}. Nothing was changed, and other pages "
        "may work.",
        ["Try again, or ", html.A("go to the summary", href="/"), "."],
    )


def problem(message: str) -> Component:
    """Return the state when the library says what is wrong."""
    return state("What is the matter", message)


def notices(sentences: Sequence[str | Component | list[str | Component]]) -> list[Component]:
    """Return what must be read beside the figures, or nothing."""
    return (
        [html.Div([html.P(each) for each in sentences], className="notice", role="note")] if sentences else []
    )
