"""What can be kept of the pages on first visits and costs: their tables and charts, by name."""

from collections.abc import Callable, Iterator, Mapping

import polars as pl

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import GROUPINGS
from analytics.fleet import Fleet
from analytics.questions.costs import COSTED_BY, Costs
from analytics.questions.first_visit import FirstVisit, FirstVisits
from analytics.rates import Rate
from dashboard.address import Address
from dashboard.components.assumed import assumed_in
from dashboard.components.money import money
from dashboard.figures.groups import bars, intervals
from dashboard.figures.look import Figure
from dashboard.words import capital, listed, number, percent

MOST_DRAWN = 40
DRAWN = {"label": pl.String, "value": pl.Float64, "low": pl.Float64, "high": pl.Float64, "note": pl.String}


def _first_visit(fleet: Fleet, address: Address) -> FirstVisit:
    return fleet.first_visit(address.filters, by=address.one_of("by", GROUPINGS, "depot"))


def _first_visits(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    found = _first_visit(fleet, address)
    yield pl.DataFrame([_row(one, found) for one in found.groups], infer_schema_length=None)


def _row(one: FirstVisits, found: FirstVisit) -> dict[str, object]:
    name = "fixed_first_time" if found.has_visits else "closed_without_return"
    return {
        found.grouping or "group": one.group,
        "label": one.label,
        name: one.rate.numerator,
        "of": one.rate.denominator,
        "rate": one.rate.rate,
        "low": one.rate.low,
        "high": one.rate.high,
        "fixed_where_let_in": one.let_in.numerator,
        "of_where_let_in": one.let_in.denominator,
        "by_telephone": one.fixed_by_phone,
        **{f"spoiled_{reason}": calls for reason, calls in one.reasons.items()},
    }


def _aboard(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    yield fleet.first_visit(address.filters).aboard.best.drop("labels")


def _second_trips(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    yield fleet.second_trips(address.filters)


def _costed(fleet: Fleet, address: Address) -> Costs:
    by = address.one_of("by", COSTED_BY, "cause")
    return fleet.costs(address.filters, by, assumed_in(address, CostAssumptions.usual())[0])


def _costs(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    found = _costed(fleet, address)
    yield found.groups.rename({"group": found.by})


def _costed_returns(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    by = address.one_of("by", COSTED_BY, "cause")
    yield fleet.costed_returns(address.filters, by, assumed_in(address, CostAssumptions.usual())[0])


def _costs_figure(fleet: Fleet, address: Address) -> Figure:
    rows = _costed(fleet, address).groups.head(MOST_DRAWN)
    notes = [money(cost) for cost in rows["cost"]]
    return bars(pl.DataFrame({"label": rows["label"], "value": rows["cost"].round(), "note": notes}))


def _first_visits_figure(fleet: Fleet, address: Address) -> Figure:
    found = _first_visit(fleet, address)
    rows = [
        (each.label, rate.rate, rate.low, rate.high, _counts(rate))
        for each in found.groups
        for rate in [each.rate]
        if rate.denominator and percent(rate.rate, rate.denominator)
    ]
    return intervals(pl.DataFrame(rows[:MOST_DRAWN], schema=DRAWN, orient="row"), found.whole.rate.rate)


def _counts(rate: Rate) -> str:
    return f"{number(rate.numerator)} of {number(rate.denominator)}"


def _aboard_figure(fleet: Fleet, address: Address) -> Figure:
    best = fleet.first_visit(address.filters).aboard.best
    labels = [capital(listed(each)) for each in best["labels"].to_list()]
    notes = [number(saved) for saved in best["saved"]]
    return bars(pl.DataFrame({"label": labels, "value": best["saved"], "note": notes}))


TABLES_OF_WORK: Mapping[str, Callable[[Fleet, Address], Iterator[pl.DataFrame]]] = {
    "first_visits": _first_visits,
    "aboard": _aboard,
    "second_trips": _second_trips,
    "costs": _costs,
    "costed_returns": _costed_returns,
}

FIGURES_OF_WORK: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "first_visits": _first_visits_figure,
    "aboard": _aboard_figure,
    "costs": _costs_figure,
}

TITLES_OF_WORK = {
    "first_visits": "Share of repairs fixed on the first visit, by {by}",
    "aboard": "Second trips for a part saved by parts aboard, added from the top down",
    "costs": "Cost of returns, in the company's own unit of money",
}
