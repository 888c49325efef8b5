"""What the pages that change records have in common: how far the work is, what became of it, forms."""

from collections.abc import Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.intake import changing
from analytics.intake.changing import State
from dashboard.components.attributes import spoken
from dashboard.components.bringing import STAGES, WorkGoesOn
from dashboard.components.exhibit import exhibit

SETTLE, MEND, TRY, TAKE_BACK = "/settle/phrase", "/mend/rows", "/take-back/try", "/take-back/do"
GO_ON, DROP, PROGRESS = "/changes/go-on", "/changes/drop", "/changes/progress"
ROLE = "settle"
"""The role that these requests and their pages need."""

POSTS = (SETTLE, MEND, TRY, TAKE_BACK, GO_ON, DROP)


def form(to: str, *parts: Component, named: str, kind: str = "") -> Component:
    """Return a form that the browser itself sends."""
    return html.Form(
        list(parts), action=to, method="post", className=f"decide {kind}".strip(), **spoken(named)
    )


def button(words: str, second: bool = False, **more: Any) -> Component:
    """Return a button that sends its form."""
    return html.Button(words, type="submit", className="second" if second else "first", **more)


def progress(state: State, then: str) -> list[Component]:
    """Return how far the work is; empty where nothing is asked for."""
    if state.goes_on:
        words = STAGES.get(state.stage, "Working")
        only_counted = bool(state.queued) and state.queued[0]["kind"] == changing.TRY
        return [
            exhibit(
                "This is being counted" if only_counted else "This is being done",
                WorkGoesOn("changes-work", PROGRESS, then, words),
                lead=(
                    "Everything is done on a copy, counted, and thrown away."
                    if only_counted
                    else "It becomes a generation of its own. You can go on, or leave and come back."
                ),
            )
        ]
    if state.cut_off:
        return [
            exhibit(
                "What was asked for is not done yet",
                html.Div(
                    [
                        form(GO_ON, button("Go on with it"), named="Go on with it"),
                        form(DROP, button("Forget it", second=True), named="Forget it"),
                    ],
                    className="forms",
                ),
                lead="The work was cut off, as when the program is stopped. Nothing half is in the records.",
            )
        ]
    return []


def problems(state: State, kinds: Sequence[str]) -> list[str]:
    """Return what went wrong with the last change of these kinds; empty when it went well."""
    last = next((each for each in state.done if each["kind"] in kinds), None)
    return [last["problem"]] if last and last["problem"] else []
