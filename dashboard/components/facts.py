"""Facts of one call or unit as a list of terms, and what the customer said beside what it was taken for."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.answers import CallStory, UnitStory
from dashboard.components.lists import Labels, worded
from dashboard.components.table import Table, column
from dashboard.words import as_words, capital, day, number

NOT_RECORDED = "not recorded"
DAYS_A_MONTH = 30.4375

_CALL_TERMS = {
    "standing": "Standing",
    "job_kind": "Kind of job",
    "opened_at": "Rang",
    "closed_at": "Closed",
    "technician": "Repair by",
    "diagnosis_technician": "First diagnosis by",
    "first_diagnosis": "What we thought first",
    "cause": "What it turned out to be",
    "outcome": "Outcome",
    "visits": "Visits",
    "payer": "Paid by",
    "depot": "Depot",
    "filter_age_days": "Filter in use for",
    "product_family": "Product family",
}
_UNIT_TERMS = {
    "product_family": "Product family",
    "installed_on": "Installed",
    "retired_on": "Replaced or scrapped",
    "ice_maker_kind": "Ice maker",
    "filter_kind": "Filter",
    "water_supply": "Water supply",
    "shutoff_valve": "Shutoff valve",
    "location": "Where it stands",
    "depot": "Depot",
}
_LABEL_FIELD = {
    "symptoms": "symptoms",
    "cause": "causes",
    "first_diagnosis": "causes",
    "outcome": "outcomes",
    "job_kind": "job_kinds",
    "payer": "payer",
    "ice_maker_kind": "ice_maker_kind",
    "filter_kind": "filter_kind",
    "water_supply": "supply_type",
    "shutoff_valve": "shutoff_valve",
    "location": "where_it_stands",
}


def months_and_days(days: float) -> str:
    """Write an age in days as months, or as days below two months."""
    return f"{number(days)} days" if days < 2 * DAYS_A_MONTH else f"{number(days / DAYS_A_MONTH)} months"


def call_facts(story: CallStory, labels: Labels) -> Component:
    """Return what the figures took a call for."""
    return _facts(_CALL_TERMS, story.facts, labels)


def unit_facts(story: UnitStory, labels: Labels) -> Component:
    """Return what is known of a unit."""
    return _facts(_UNIT_TERMS, story.facts, labels)


def _facts(terms: Mapping[str, str], facts: Mapping[str, Any], labels: Labels) -> Component:
    parts: list[Component] = []
    for name, term in terms.items():
        if name in facts and (facts[name] is not None or name in ("cause", "outcome")):
            parts += [html.Dt(term), html.Dd(_value(name, facts[name], labels))]
    return html.Dl(parts, className="facts")


def _value(name: str, value: Any, labels: Labels) -> str:
    if value is None or value == []:
        return NOT_RECORDED
    if name == "filter_age_days":
        return months_and_days(value)
    if isinstance(value, date | datetime):
        return day(value)
    if name in _LABEL_FIELD:
        return capital(worded(value, labels(_LABEL_FIELD[name])))
    return capital(as_words(str(value), str(value)))


def said_table(said: pl.DataFrame) -> Component:
    """Return what the customer told us: the words, and what they were taken for."""
    if said.is_empty():
        return html.P("No intake answer is recorded for this call.", className="prose")
    columns = [column("Question"), column("As written"), column("Taken for")]
    rows = [
        [row["label"], row["written"] or "", row["code_label"] or "not recognised"]
        for row in said.iter_rows(named=True)
    ]
    return Table("What the customer told us", columns, rows, layout="stack")
