"""The data contract as values: which tables are read, and what each of their columns means."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from analytics.errors import BadQuestion
from analytics.intake.headers import plain

DATED = ("timestamp", "date")
NUMERIC = ("number", "integer")

IGNORED_HEADERS = ("set_aside_file", "set_aside_line", "set_aside_reason")
"""Columns that an export of set-aside rows adds; a mended file may keep them."""


@dataclass(frozen=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name : str
        Our header for it.
    kind : str
        id, text, coded, timestamp, date, number, integer or unit (of measure).
    required : bool
        The file must have the column.
    filled : bool
        No row may leave it empty.
    field : str or None
        For coded columns, the name under which its words are coded.
    quantity : str or None
        What a number in it measures: time, temperature.
    meaning : str
        One line for people.
    headers : tuple of str
        Other headers that mean it beyond doubt, as `headers.plain` writes them.
    """

    name: str
    kind: str
    required: bool
    filled: bool
    field: str | None
    quantity: str | None
    meaning: str
    headers: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """One table of the contract.

    Parameters
    ----------
    name, about : str
        Its name, and what one row is.
    key : tuple of str
        Columns that tell one row from another; `occurrence` counts otherwise equal rows of one file.
    either : tuple of str
        Columns of which at least one is required.
    columns : mapping of str to Column
        In the order of the contract.
    """

    name: str
    about: str
    key: tuple[str, ...]
    either: tuple[str, ...]
    columns: Mapping[str, Column]

    def of_kind(self, *kinds: str) -> tuple[str, ...]:
        """Names of the columns of these kinds."""
        return tuple(name for name, column in self.columns.items() if column.kind in kinds)

    def required(self) -> tuple[str, ...]:
        """Names of the columns that the file must have."""
        return tuple(name for name, column in self.columns.items() if column.required)

    def complete(self, names: set[str]) -> bool:
        """Say whether these columns are enough to load the table."""
        return not self.missing(names)

    def missing(self, names: set[str]) -> list[str]:
        """Say what these columns lack, each as one column or a choice of two."""
        lacking = [name for name in self.required() if name not in names]
        if self.either and not names.intersection(self.either):
            lacking.append(" or ".join(self.either))
        return lacking


@cache
def tables() -> Mapping[str, Table]:
    """Every table of the contract, by name."""
    raw = tomllib.loads(resources.files("analytics.intake").joinpath("contract.toml").read_text("utf-8"))
    return MappingProxyType({name: _table(name, entry) for name, entry in raw.items()})


def table_named(name: str) -> Table:
    """Return one table.

    Raises
    ------
    BadQuestion
        When there is no such table.
    """
    if name not in tables():
        raise BadQuestion(f"'{name}' is no table. Choose one of {', '.join(tables())}.")
    return tables()[name]


def _table(name: str, entry: dict) -> Table:
    columns = {
        column: Column(
            name=column,
            kind=each["kind"],
            required=each.get("required", False),
            filled=each.get("filled", False),
            field=each.get("field", column) if each["kind"] == "coded" else None,
            quantity=each.get("quantity"),
            meaning=each["meaning"],
            headers=tuple(map(plain, each.get("headers", ()))),
        )
        for column, each in entry["columns"].items()
    }
    return Table(
        name, entry["about"], tuple(entry["key"]), tuple(entry.get("either", ())), MappingProxyType(columns)
    )
