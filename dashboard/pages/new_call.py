"""What is it likely to be, and what should be checked first? One call, from the telephone to the kitchen.

The page is sent with all that it computes from; after that it needs no network (assets/call_*.js).
"""

from datetime import date
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.catalogues.new_call import sayings
from analytics.catalogues.units_of_measure import read_units
from analytics.errors import UnknownRecord
from analytics.questions.answers import UnitStory
from dashboard.components.answer import answer
from dashboard.components.new_call import CallAnswer, NewCall, known_answers, last_visits, unit_form
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import notices, state
from dashboard.pages.view import Content, Page, View
from dashboard.words import day

QUESTION = "What is it likely to be, and what should be checked first?"
BEFORE = "Give the complaint and what the customer can tell: causes, checks and parts follow at once."


def content(view: View) -> Content:
    """Return the page."""
    pack = view.fleet.new_call_pack()
    unit_id = view.address.options.get("unit", "").strip()
    story, problem = _unit(view, unit_id)
    known, days = known_answers(story)
    units = {
        each.code: {"quantity": each.quantity, "scale": each.scale, "offset": each.offset}
        for each in read_units().values()
    }
    asked = NewCall(
        pack, unit_id if story else "", known, days, units, sayings().plain(), view.fleet.labels("symptoms")
    )
    return page(
        QUESTION,
        CallAnswer(BEFORE) if pack else answer(["There is no model yet, so no cause can be named."]),
        notices([problem] if problem else []),
        unit_form(unit_id),
        evidence(
            last_visits(story, view.filters, view.fleet.labels) if story else None,
            None if pack else _no_model(),
            asked,
        ),
        _counting(pack),
    )


def _unit(view: View, unit_id: str) -> tuple[UnitStory | None, str]:
    """Return the unit asked for, or a sentence on why it can not be shown."""
    if not unit_id:
        return None, ""
    try:
        return view.fleet.unit(unit_id), ""
    except UnknownRecord as error:
        return None, str(error)


def _no_model() -> Component:
    return state(
        "Fit a model first",
        ["Make one from the finished calls: ", html.Code("service-calls fit")],
        "It needs finished calls whose cause is recorded. Until then this page shows the unit's last visits "
        "and what to do before leaving; the checks and their limits stand in the catalogue.",
    )


def _counting(pack: dict[str, Any] | None) -> Component:
    made = (pack or {}).get("made_of", {})
    facts: list[tuple[str, str | Component | list[str | Component]]] = []
    if made:
        facts = [
            (
                "Fitted on",
                f"{made['episodes']:,} finished calls, until {day(date.fromisoformat(made['fitted_until']))}",
            ),
            ("Data as of", day(date.fromisoformat(made["data_of"]))),
            ("How good it is", [made["note"], " ", html.A("The model card", href="/model-card"), "."]),
        ]
    return counted_how(
        [
            "The causes are those of our own finished calls with like answers; the shares are those a fitted "
            "model gives, and they add up to 100%. A question that is skipped counts as not asked. “Not "
            "enough to tell” stands where the three likeliest causes together have less than 60%, or fewer "
            "than two questions are answered.",
            "Very likely: 80% and more. Likely: 50% and more. Quite possible: 20% and more. Possible: 7% "
            "and more. Else unlikely.",
            "A finding weighs by how often the check finds each cause when it is there, and how often it "
            "finds a fault that is not; checks were made because a cause was suspected. The order of checks "
            "keeps the expected minutes to the fault low, with each set-up paid once.",
            "Nothing typed here is sent: answers, readings, findings and the unit's number stand in the "
            "address; names and notes stay in this tab, until saved to a file.",
        ],
        facts,
    )


PAGE = Page(
    "/new-call",
    "New call",
    QUESTION,
    content,
    parameters=("unit", "said", "found", "read", "sheet"),
    filtered=False,
)
