"""What the values of a column say about what it can be."""

from collections.abc import Sequence

from analytics.catalogues.units_of_measure import read_units, spelling_key
from analytics.intake import dates, numbers
from analytics.intake.contract import DATED, NUMERIC, Column

ENOUGH = 0.5
"""Share of the values that must be of the column's kind for a header that is not our name to be believed."""


def share_fitting(column: Column, values: Sequence[str]) -> float | None:
    """Share of the values that can be of the column's kind; None where any text can.

    Parameters
    ----------
    column : Column
    values : sequence of str
        Without blanks.
    """
    if not values:
        return None
    if column.kind in DATED:
        fitting = sum(dates.looks_dated(dates.shape_of(value)) for value in values)
    elif column.kind in NUMERIC and column.name != "reading":
        fitting = sum(numbers.looks_numeric(value) for value in values)
    elif column.kind == "unit":
        known = {spelling for unit in read_units().values() for spelling in unit.spellings}
        fitting = sum(spelling_key(value) in known for value in values)
    elif column.kind == "id":
        fitting = sum(len(value) <= 40 and value.count(" ") <= 2 for value in values)
    else:
        return None
    return fitting / len(values)


def contradiction(column: Column, values: Sequence[str]) -> str | None:
    """Say why the values can not be those of the column; None where nothing speaks against it."""
    share = share_fitting(column, values)
    if share is None or share >= ENOUGH:
        return None
    kind = {"unit": "a unit of measure", "id": "an id", "timestamp": "a date or time", "date": "a date"}
    return f"only {share:.0%} of its values look like {kind.get(column.kind, 'a number')}"
