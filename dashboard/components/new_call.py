"""The New call page's own parts: what the browser computes from, and this unit's last visits.

Everything after the first answer happens in assets/call_*.js, from the pack that is sent with the page as
plain data; what it holds is only ever set as text.
"""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.answers import UnitStory
from dashboard.address import to_call
from dashboard.components.attributes import spoken
from dashboard.components.exhibit import exhibit
from dashboard.components.field import Field
from dashboard.components.lists import Labels, standing_in_words, worded
from dashboard.components.table import Cell, Table, column, link
from dashboard.words import as_words, capital, day

LAST_CALLS = 3
_WORDS = {"product_family": "product_families"}
_FACTS = {
    "filter_kind": "filter_kind",
    "water_supply": "supply_type",
    "shutoff_valve": "shutoff_valve",
    "location": "where_it_stands",
    "product_family": "product_family",
    "ice_maker_kind": "ice_maker_kind",
}
"""Column of the units file -> what the model is told by it: an answer, or a fact that nobody is asked for."""


class CallAnswer(Component):
    """The answer of the page, kept current by the browser and read out when it changes.

    Parameters
    ----------
    id : str
        Unique id on the page.
    className : str
        "answer", as on the other pages.
    before : str
        What it says until something is answered.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "CallAnswer"
    _prop_names = ["id", "className", "before"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(self, before: str, id: str = "call-answer", className: str = "answer") -> None:
        super().__init__(id=id, className=className, before=before)


class NewCall(Component):
    """Questions, causes, checks and parts of one call, computed in the browser.

    Parameters
    ----------
    id : str
        Unique id on the page.
    pack : dict or None
        As from `Fleet.new_call_pack`; None before a model was fitted.
    unit_id : str
        The unit asked about, or "".
    known : dict of str to str
        Answers that the records know of the unit: field -> level.
    known_days : dict of str to str
        Days from which an age is counted, ISO: filter_age_days (latest change), unit_age_days (installation).
    units : dict
        Units of measure: code -> quantity, scale, offset.
    sayings : dict
        telephone, in_range and leave, as from `analytics.catalogues.new_call`.
    symptoms : dict of str to str
        Words for the complaints, by code.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "NewCall"
    _prop_names = [  # noqa: RUF012
        "id", "pack", "unit_id", "known", "known_days", "units", "sayings", "symptoms",
    ]  # fmt: skip
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(
        self,
        pack: Mapping[str, Any] | None,
        unit_id: str,
        known: Mapping[str, str],
        known_days: Mapping[str, str],
        units: Mapping[str, Mapping[str, Any]],
        sayings: Mapping[str, Any],
        symptoms: Mapping[str, str],
        id: str = "new-call",
    ) -> None:
        super().__init__(
            id=id,
            pack=pack,
            unit_id=unit_id,
            known=known,
            known_days=known_days,
            units=units,
            sayings=sayings,
            symptoms=symptoms,
        )


def unit_form(unit_id: str) -> Component:
    """Return the field for the unit's number; the browser keeps what was answered when it is sent."""
    field = Field("call-unit", "unit", "Number of the unit (needs the network)", unit_id, most=80, rows=1)
    return html.Form(
        [
            field,
            html.Button("Show its last visits", type="submit"),
            html.P(id="unit-says", role="status", className="unit-says"),
        ],
        className="find unit-of-call",
        **spoken("Which unit"),
    )


def last_visits(story: UnitStory, filters: Filters, labels: Labels) -> Component:
    """Return this unit's last calls: what was found, fitted and read, and by whom."""
    rows = story.calls.head(LAST_CALLS)
    if rows.is_empty():
        return exhibit(
            f"No visit to unit {story.unit_id} is on record",
            html.P("This would be its first call.", className="prose"),
        )
    columns = [column(name) for name in ("Opened", "Complaint", "Found", "Fitted", "Read", "By")]
    checks = _checks_by_call(story.timeline)
    cells = [
        _visit_row(row, checks.get(row["call_id"], ""), filters, labels) for row in rows.iter_rows(named=True)
    ]
    title = f"Last calls of unit {story.unit_id}, latest first"
    known = _known_sentence(story, labels)
    return exhibit(
        title,
        [
            *([html.P(known, className="prose")] if known else []),
            Table(title, columns, cells, layout="stack"),
        ],
    )


def _visit_row(row: dict[str, Any], checks: str, filters: Filters, labels: Labels) -> list[Cell]:
    opened = day(row["opened_at"])
    found = worded(row["cause"], labels("causes")) or standing_in_words(row["standing"], labels)
    return [
        link(opened, to_call(row["call_id"], filters), f"Call {row['call_id']} of {opened}"),
        worded(row["symptoms"], labels("symptoms"), "not recognised"),
        found,
        worded(row["parts"], labels("parts"), "nothing recorded"),
        checks or "nothing recorded",
        row["technician"] or "not recorded",
    ]


def _checks_by_call(timeline: pl.DataFrame) -> dict[str, str]:
    """Return the checks made on each call with their readings, as one text a call."""
    if timeline.is_empty():
        return {}
    told = timeline.filter(pl.col("kind") == "check").select(
        "call_id",
        said=pl.concat_str([pl.col("what"), pl.col("detail")], separator=": ", ignore_nulls=True),
    )
    joined = told.group_by("call_id", maintain_order=True).agg(pl.col("said").str.join("; "))
    return dict(joined.iter_rows())


def _known_sentence(story: UnitStory, labels: Labels) -> str:
    facts = [
        f"{word} {day(value)}"
        for word, value in (
            ("installed", story.facts.get("installed_on")),
            ("filter changed", _last_filter_change(story)),
        )
        if value
    ]
    facts += [
        as_words(*_coded(story.facts[name], labels(_WORDS.get(field, field))))
        for name, field in _FACTS.items()
        if story.facts.get(name)
    ]
    return f"{capital(', '.join(dict.fromkeys(facts)))}." if facts else ""


def _coded(code: str, words: Mapping[str, str]) -> tuple[str, str]:
    return code, words.get(code, code)


def known_answers(story: UnitStory | None) -> tuple[dict[str, str], dict[str, str]]:
    """Return what the records know of a unit: answers by field, and the days from which ages are counted."""
    if story is None:
        return {}, {}
    answers = {field: story.facts[name] for name, field in _FACTS.items() if story.facts.get(name)}
    days = {
        "unit_age_days": story.facts.get("installed_on"),
        "filter_age_days": _last_filter_change(story),
    }
    return answers, {name: f"{value:%Y-%m-%d}" for name, value in days.items() if value}


def _last_filter_change(story: UnitStory) -> date | datetime | None:
    changes = story.filter_changes
    return changes["changed_on"].max() if "changed_on" in changes.columns else None  # type: ignore[return-value]
