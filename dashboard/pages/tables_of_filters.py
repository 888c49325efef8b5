"""What can be kept of the page on filter age: its tables and chart, by name."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.cost_assumptions import FilterCosts
from analytics.fleet import Fleet
from analytics.questions.filter_age import ALL, FILTER_AGED_BY
from analytics.questions.filter_course import FilterCourse
from analytics.questions.filter_policies import FilterPolicies
from dashboard.address import Address
from dashboard.components.assumed import assumed_in
from dashboard.figures.filter_age import failure_rates
from dashboard.figures.filter_course import first_failures, smooth_rate
from dashboard.figures.filter_policies import avoided
from dashboard.figures.look import Figure


def _overdue(fleet: Fleet, address: Address) -> pl.DataFrame:
    found = fleet.filter_age().overdue
    names = fleet.overdue_by_depot()["depot"].drop_nulls().to_list()
    depot = address.one_of("place", names, "")
    return found.filter(pl.col("depot") == depot) if depot else found


def _by(fleet: Fleet, address: Address) -> pl.DataFrame:
    by = address.one_of("by", FILTER_AGED_BY, FILTER_AGED_BY[0])
    return fleet.filter_age().groups_of(_what(fleet, address), by)


def _what(fleet: Fleet, address: Address) -> str:
    return address.one_of("what", fleet.filter_age().held_equal, ALL)


def _course(part: Callable[[FilterCourse], pl.DataFrame]) -> Callable[[Fleet, Address], pl.DataFrame]:
    """Make a table of the course of a filter; without time at risk it has no rows."""

    def table(fleet: Fleet, address: Address) -> pl.DataFrame:
        found = fleet.filter_age().course
        return part(found) if found else pl.DataFrame()

    return table


def _intervals(fleet: Fleet, address: Address) -> pl.DataFrame:
    return fleet.filter_intervals(assumed_in(address, FilterCosts)[0]).groups


def _policies(fleet: Fleet, address: Address) -> FilterPolicies:
    return fleet.filter_policies(assumed_in(address, FilterCosts)[0])


TABLES_OF_FILTERS: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "filter_age": lambda fleet, address: fleet.filter_age().bands,
    "filter_age_past": lambda fleet, address: fleet.filter_age().past,
    "filter_age_by": _by,
    "filter_age_adjusted": lambda fleet, address: fleet.filter_age().held_equal[_what(fleet, address)].bands,
    "filter_age_cases": lambda fleet, address: fleet.filter_age().cases.bands,
    "filter_answers": lambda fleet, address: fleet.filter_age().cases.answers,
    "filter_told": lambda fleet, address: fleet.filter_age().cases.told,
    "filter_course": _course(lambda found: found.curves),
    "filter_hazard": _course(lambda found: found.hazard_sum),
    "filter_smooth": _course(lambda found: found.rates),
    "overdue_filters": _overdue,
    "filter_intervals": _intervals,
    "filter_policies": lambda fleet, address: _policies(fleet, address).rules,
    "filter_policy_ratios": lambda fleet, address: _policies(fleet, address).ratios,
}


def _rates_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.filter_age()
    what = _what(fleet, address)
    return failure_rates(found.of(what), found.of(what, "called"))


def _first_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.filter_age().course
    return first_failures(found.curves) if found else {"data": [], "layout": {}}


def _smooth_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.filter_age()
    what = _what(fleet, address)
    twice = found.course.doubled[what] if found.course else None
    if not found.course or not twice:
        return {"data": [], "layout": {}}
    return smooth_rate(found.course.rates.filter(pl.col("what") == what), twice.age, twice.young)


FIGURES_OF_FILTERS: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "filter_age": _rates_figure,
    "filter_first": _first_figure,
    "filter_smooth": _smooth_figure,
    "filter_policies": lambda fleet, address: avoided(_policies(fleet, address).rules),
}

TITLES_OF_FILTERS = {
    "filter_age": "Failures by age of the filter",
    "filter_first": "First failures since the change",
    "filter_smooth": "Rate of failures by months since the change",
    "filter_policies": "Failures avoided if filters were changed by another rule",
}
