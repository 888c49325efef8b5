"""What can be kept of the page on filter age: its tables and chart, by name."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.cost_assumptions import FilterCosts
from analytics.fleet import Fleet
from analytics.questions.filter_age import ALL, FILTER_AGED_BY
from analytics.questions.filter_policies import FilterPolicies
from dashboard.address import Address
from dashboard.components.assumed import assumed_in
from dashboard.figures.filter_age import failure_rates
from dashboard.figures.filter_policies import avoided
from dashboard.figures.look import Figure


def _overdue(fleet: Fleet, address: Address) -> pl.DataFrame:
    found = fleet.filter_age().overdue
    names = fleet.overdue_by_depot()["depot"].drop_nulls().to_list()
    depot = address.one_of("place", names, "")
    return found.filter(pl.col("depot") == depot) if depot else found


def _by(fleet: Fleet, address: Address) -> pl.DataFrame:
    by = address.one_of("by", FILTER_AGED_BY, FILTER_AGED_BY[0])
    return fleet.filter_age().groups.filter(pl.col("by") == by)


def _intervals(fleet: Fleet, address: Address) -> pl.DataFrame:
    return fleet.filter_intervals(assumed_in(address, FilterCosts.usual())[0]).groups


def _policies(fleet: Fleet, address: Address) -> FilterPolicies:
    return fleet.filter_policies(assumed_in(address, FilterCosts.usual())[0])


TABLES_OF_FILTERS: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "filter_age": lambda fleet, address: fleet.filter_age().bands,
    "filter_age_past": lambda fleet, address: fleet.filter_age().past,
    "filter_age_by": _by,
    "filter_age_adjusted": lambda fleet, address: fleet.filter_age().adjusted.bands,
    "filter_age_cases": lambda fleet, address: fleet.filter_age().cases.bands,
    "filter_answers": lambda fleet, address: fleet.filter_age().cases.answers,
    "filter_told": lambda fleet, address: fleet.filter_age().cases.told,
    "overdue_filters": _overdue,
    "filter_intervals": _intervals,
    "filter_policies": lambda fleet, address: _policies(fleet, address).rules,
    "filter_policy_ratios": lambda fleet, address: _policies(fleet, address).ratios,
}


def _rates_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.filter_age()
    what = address.one_of("what", found.bands["what"].unique().to_list(), ALL)
    return failure_rates(found.of(what), found.of(what, "called"))


FIGURES_OF_FILTERS: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "filter_age": _rates_figure,
    "filter_policies": lambda fleet, address: avoided(_policies(fleet, address).rules),
}

TITLES_OF_FILTERS = {
    "filter_age": "Failures by age of the filter",
    "filter_policies": "Failures avoided if filters were changed by another rule",
}
