"""What a return is taken to cost where the records do not say: numbers as data, to be replaced."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources
from math import isfinite
from pathlib import Path
from typing import Any, ClassVar, Self

from analytics.errors import BadQuestion


@dataclass(frozen=True)
class Assumption:
    """One assumption.

    Parameters
    ----------
    key, label : str
        Name in files, options and addresses; words for it.
    value : float
        In `unit`.
    unit, standing, why : str
        What it is counted in, where it comes from, and why it is what it is.
    least, most : float
        Legal values, both ends included.
    """

    key: str
    label: str
    value: float
    unit: str
    least: float
    most: float
    standing: str
    why: str

    def read(self, given: object, where: str) -> float:
        """Return a value that was given instead.

        Parameters
        ----------
        given : object
            A number, or one as text.
        where : str
            Where it stands, for the message.

        Raises
        ------
        BadQuestion
            When it is no number within the legal values.
        """
        try:
            number = float(given) if not isinstance(given, bool) else float("nan")  # type: ignore[arg-type]
        except (TypeError, ValueError):
            number = float("nan")
        if not isfinite(number) or not self.least <= number <= self.most:
            raise BadQuestion(
                f"{where}: {self.key} ({self.label}) is {str(given)[:40]!r}. Give a number from "
                f"{self.least:g} to {self.most:g}, in {self.unit}."
            )
        return number


@cache
def described(file: str = "cost_assumptions.toml") -> dict[str, Assumption]:
    """Return the assumptions that come with the program in a file, by key."""
    text = resources.files("analytics").joinpath(file).read_text(encoding="utf-8")
    return {key: Assumption(key=key, **entry) for key, entry in tomllib.loads(text).items()}


@dataclass(frozen=True)
class Assumed:
    """Assumptions as fields, each described in the file of its class."""

    file: ClassVar[str]

    @classmethod
    def described(cls) -> dict[str, Assumption]:
        """Return what is known of each field."""
        return described(cls.file)

    @classmethod
    def usual(cls) -> Self:
        """Return those that come with the program."""
        return cls(**{key: float(each.value) for key, each in cls.described().items()})

    def but(self, given: Mapping[str, object], where: str) -> Self:
        """Return these with some replaced.

        Parameters
        ----------
        given : mapping of str to object
            New values, by key.
        where : str
            Where they stand, for messages.

        Raises
        ------
        BadQuestion
            When there is no such assumption, or the value is not legal.
        """
        known = self.described()
        if strangers := [key for key in given if key not in known]:
            raise BadQuestion(
                f"{where}: there is no assumption '{strangers[0][:40]}'. Choose from {', '.join(known)}."
            )
        return replace(self, **{key: known[key].read(value, where) for key, value in given.items()})

    def changed(self) -> dict[str, float]:
        """Return those that differ from the ones that come with the program."""
        usual = self.usual()
        values = {field.name: getattr(self, field.name) for field in fields(self)}
        return {key: value for key, value in values.items() if value != getattr(usual, key)}


@dataclass(frozen=True)
class CostAssumptions(Assumed):
    """What a return costs beyond what is recorded; each field is described in cost_assumptions.toml."""

    file: ClassVar[str] = "cost_assumptions.toml"
    hour_price: float
    travel_minutes: float
    travel_km: float
    km_price: float
    office_minutes: float
    office_hour_price: float
    visit_minutes: float
    part_cost: float

    @property
    def visit_price(self) -> float:
        """Money for the travel of one visit."""
        return self.travel_minutes / 60 * self.hour_price + self.travel_km * self.km_price

    @property
    def call_price(self) -> float:
        """Money for the office work of one call."""
        return self.office_minutes / 60 * self.office_hour_price


@dataclass(frozen=True)
class FilterCosts(Assumed):
    """What failures and changes of filters cost; each field is described in filter_costs.toml."""

    file: ClassVar[str] = "filter_costs.toml"
    failure_cost: float
    filter_cost: float
    planned_cost: float
    at_visit_cost: float


def from_file(path: Path) -> CostAssumptions:
    """Read a file: `[hour_price]` and `value = 75` below it, or `hour_price = 75`; the others stay.

    Raises
    ------
    BadQuestion
        When it can not be read, or does not hold together; the message names file and key.
    """
    try:
        entries: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadQuestion(f"{path} can not be read as a file of cost assumptions: {error}.") from error
    values = {}
    for key, entry in entries.items():
        if isinstance(entry, dict) and "value" not in entry:
            raise BadQuestion(f"{path}, [{key}]: has no value. Write a line such as `value = 60` below it.")
        values[key] = entry["value"] if isinstance(entry, dict) else entry
    return CostAssumptions.usual().but(values, str(path))
