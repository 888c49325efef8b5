"""What can be kept of the curves of repeat units, by name."""

from collections.abc import Callable, Iterator, Mapping

import polars as pl

from analytics.fleet import Fleet
from analytics.questions.repeat_units import GROUPED
from dashboard.address import Address
from dashboard.figures.look import Figure
from dashboard.figures.recurrences import recurrences
from dashboard.pages.repeat_units import since


def _recurrences(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    found = fleet.repeat_units()
    for at, course in enumerate([found.whole, *found.groups[address.one_of("by", GROUPED, GROUPED[0])]]):
        group = pl.lit("all" if not at else course.group, dtype=pl.String).alias("group")
        yield course.points.select(group, pl.lit(course.label).alias("label"), pl.all())


def _recurrences_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.repeat_units()
    return recurrences(found.whole, found.groups[address.one_of("by", GROUPED, GROUPED[0])], since(found))


TABLES_OF_UNITS: Mapping[str, Callable[[Fleet, Address], Iterator[pl.DataFrame]]] = {
    "recurrences": _recurrences,
}

FIGURES_OF_UNITS: Mapping[str, Callable[[Fleet, Address], Figure]] = {"recurrences": _recurrences_figure}

TITLES_OF_UNITS = {"recurrences": "Repair calls a unit, by age of the units"}
