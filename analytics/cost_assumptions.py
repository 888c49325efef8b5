"""What a return is taken to cost where the records do not say: numbers as data, to be replaced."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analytics.assumptions import Assumption, Assumptions
from analytics.errors import BadQuestion


def described() -> dict[str, Assumption]:
    """Return the assumptions that come with the program, by key."""
    return CostAssumptions.described()


@dataclass(frozen=True)
class CostAssumptions(Assumptions):
    """What a return costs beyond what is recorded; each field is described in cost_assumptions.toml."""

    FILE = "cost_assumptions.toml"

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
class FilterCosts(Assumptions):
    """What failures and changes of filters cost; each field is described in filter_costs.toml."""

    FILE = "filter_costs.toml"

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
