"""The filters of a page as one sentence of labelled controls, and what the address asked for in vain."""

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl
from dash import dcc, html
from dash.development.base_component import Component

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from dashboard.address import LIST_PARAMETERS, NOT_RECORDED, Address, as_month, href, last_of_month
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.words import as_words, day, listed, month

MATCH_WORDS = {"family": "the same kind of complaint", "any": "any complaint"}

_ALL = {
    "depot": "all depots",
    "kind": "any kind of complaint",
    "complaint": "any complaint",
    "product": "all product families",
    "technician": "all technicians",
    "cause": "any cause",
    "part": "any part",
}
_NARROW = {
    "complaint": "Complaint",
    "product": "Product family",
    "technician": "Technician who made the repair",
    "cause": "What it turned out to be",
    "part": "Part fitted",
}


BLANK_WORDS = {
    "depots": "no depot recorded",
    "families": "complaint not recognised",
    "symptoms": "complaint not recognised",
    "product_families": "product family not recorded",
    "technicians": "technician not recorded",
    "causes": "cause not recorded",
    "parts": "no part recorded",
}


def sentence(address: Address, choices: Mapping[str, pl.DataFrame], path: str) -> Component:
    """Return the filter sentence of a page.

    Parameters
    ----------
    address : Address
        What is chosen now; options other than the filters are kept when a choice changes.
    choices : mapping of str to DataFrame
        As from `Fleet.choices`.
    path : str
        Where "Clear all choices" leads.
    """
    filters = address.filters
    kept = {name: value for name, value in address.options.items() if name != "page"}
    months = _months(choices)
    clauses: list[Component | str] = [
        depot_choice(filters, choices),
        " ",
        _list_choice("kind", filters, choices, before="about", spoken="kind of complaint"),
        ", ",
        _month_choice("from", filters.closed_from, months, "closed from"),
        " ",
        _month_choice("to", filters.closed_to, months, "to"),
        "; ",
        window_choice(filters),
        " ",
        match_choice(filters),
        " counts. ",
    ]
    if filters != Filters():
        clauses.append(html.A("Clear all choices", href=href(path, None, **kept), className="clear"))
    return html.Form(
        [html.Div(clauses), _narrow(filters, choices)],
        className="sentence",
        **spoken("Which calls", keep=href("", None, **kept).removeprefix("?")),
    )


def narrowed(filters: Filters) -> int:
    """Count the choices that hide below "Narrow further"."""
    return sum(bool(getattr(filters, LIST_PARAMETERS[name])) for name in _NARROW) + (
        filters.as_of is not None
    )


def _narrow(filters: Filters, choices: Mapping[str, pl.DataFrame]) -> Component:
    controls = [
        _list_choice(name, filters, choices, before=label, layout="block") for name, label in _NARROW.items()
    ]
    as_of = filters.as_of.isoformat() if filters.as_of else ""
    typed: dict[str, Any] = {
        "type": "date"
    }  # a native date field; dcc.Input hands the type on, though its signature omits it
    day_field = html.Label(
        [
            "As the records stood at the end of",
            dcc.Input(id="filter-as_of", name="as_of", value=as_of, **typed),
        ],
        htmlFor="filter-as_of",
    )
    chosen = narrowed(filters)
    summary = f"Narrow further ({chosen} chosen)" if chosen else "Narrow further"
    return html.Details(
        [html.Summary(summary), html.Div([*controls, day_field], className="narrow")], open=chosen > 0
    )


def _list_choice(name: str, filters: Filters, choices: Mapping[str, pl.DataFrame], **words: str) -> Choice:
    field = LIST_PARAMETERS[name]
    chosen = list(getattr(filters, field))
    known = choices.get(field, pl.DataFrame(schema={"value": pl.String, "label": pl.String}))
    options: list[Option] = [("", _ALL[name])]
    options += [(code, as_words(code, label)) for code, label in known.select("value", "label").iter_rows()]
    options.append((NOT_RECORDED, BLANK_WORDS[field]))
    values = [code or NOT_RECORDED for code in chosen]
    value = values[0] if values else ""
    if len(values) > 1:
        labels = dict(option[:2] for option in options)
        value = json.dumps(values)
        options.append((value, listed([labels.get(each, each) for each in values], "or"), values))
    return Choice(f"filter-{name}", name, options, value, **words)


def _months(choices: Mapping[str, pl.DataFrame]) -> list[date]:
    closed = choices.get("closed")
    if closed is None or closed.is_empty() or closed["first"][0] is None:
        return []
    first, last = closed["first"][0].replace(day=1), closed["last"][0]
    return pl.date_range(first, last, "1mo", eager=True).to_list()


def _month_choice(name: str, chosen: date | None, months: list[date], before: str) -> Choice:
    value = "" if chosen is None else as_month(chosen, name) or chosen.isoformat()
    edge = 0 if name == "from" else -1
    options: list[Option] = [(f"{each:%Y-%m}", month(each)) for each in months]
    if options:
        options[edge] = ("", options[edge][1])
        value = "" if value == f"{months[edge]:%Y-%m}" else value
    if value not in [option[0] for option in options]:
        label = "any month" if chosen is None else _bound(chosen, name)
        options.append((value, label))
    return Choice(f"filter-{name}", name, options, value, before=before, spoken="month")


def _bound(chosen: date, name: str) -> str:
    whole = chosen.day == (1 if name == "from" else last_of_month(chosen).day)
    return month(chosen) if whole else day(chosen)


def depot_choice(filters: Filters, choices: Mapping[str, pl.DataFrame]) -> Choice:
    """Return the choice of depots."""
    return _list_choice("depot", filters, choices, before="Calls from", spoken="depot")


def window_choice(filters: Filters) -> Choice:
    """Return the choice of the window."""
    default = Filters.window_days
    options: list[Option] = [("" if days == default else str(days), f"{days} days") for days in WINDOWS_DAYS]
    value = "" if filters.window_days == default else str(filters.window_days)
    return Choice("filter-within", "within", options, value, before="a return within")


def match_choice(filters: Filters) -> Choice:
    """Return the choice of what a return has to be about."""
    options: list[Option] = [
        ("" if match == Filters.match else match, MATCH_WORDS[match]) for match in MATCHES
    ]
    value = "" if filters.match == Filters.match else filters.match
    return Choice("filter-match", "match", options, value, before="for")
