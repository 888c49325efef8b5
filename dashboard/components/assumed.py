"""Assumptions as fields of a form: what is typed stands in the address."""

from collections.abc import Mapping
from typing import Any, TypeVar

from dash import dcc, html
from dash.development.base_component import Component

from analytics.assumptions import Assumption, Assumptions
from analytics.errors import BadQuestion
from analytics.filters import Filters
from dashboard.address import Address, href
from dashboard.components.attributes import spoken
from dashboard.components.table import Table, column

Assumed = TypeVar("Assumed", bound=Assumptions)


def assumed_in(address: Address, kind: type[Assumed]) -> tuple[Assumed, list[str]]:
    """Return the assumptions of an address, and in words what of it can not be used."""
    assumed, problems = kind.usual(), []
    for key in kind.described():
        if key in address.options:
            try:
                assumed = assumed.but({key: address.options[key]}, "The address")
            except BadQuestion as error:
                problems.append(f"{error} {getattr(assumed, key):g} is taken.")
    return assumed, problems


def options_of(assumed: Assumptions) -> Mapping[str, str]:
    """Return what an address needs to hold these assumptions."""
    return {key: f"{value:g}" for key, value in assumed.changed().items()}


def assumed_form(filters: Filters | None, assumed: Assumptions, kept: Mapping[str, str]) -> Component:
    """Return the form; a change shows the page anew. `kept` are the other options of the address."""
    fields = [_field(each, getattr(assumed, key)) for key, each in assumed.described().items()]
    keep = href("", filters, **kept).removeprefix("?")
    return html.Form(
        html.Div(fields, className="narrow"), className="sentence", **spoken("Assumed", keep=keep)
    )


def _field(each: Assumption, value: float) -> Component:
    key = f"assumed-{each.key}"
    typed: dict[str, Any] = {"type": "text", "inputMode": "decimal", "debounce": True}
    words = f"{each.label[:1].upper()}{each.label[1:]} ({each.unit})"
    return html.Label([words, dcc.Input(id=key, name=each.key, value=f"{value:g}", **typed)], htmlFor=key)


def assumed_table(
    assumed: Assumptions, caption: str = "What a return is taken to cost where the records do not say"
) -> Table:
    """Return the assumptions with where each comes from."""
    columns = [
        column("Assumed"), column("Value", "number"), column("Unit"), column("Standing"), column("Why"),
    ]  # fmt: skip
    changed = assumed.changed()
    rows = [
        [
            each.label[:1].upper() + each.label[1:],
            f"{getattr(assumed, key):g}",
            each.unit,
            "yours" if key in changed else each.standing,
            f"instead of {each.value:g}" if key in changed else each.why,
        ]
        for key, each in assumed.described().items()
    ]
    return Table(caption, columns, rows, layout="stack")
