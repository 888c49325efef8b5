"""What can be kept of the page on checks: its tables and charts, by name."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.fleet import Fleet
from analytics.questions.checks import CHECKED_BY
from analytics.rates import Rate
from dashboard.address import Address
from dashboard.figures.groups import intervals
from dashboard.figures.look import Figure
from dashboard.words import capital, number, percent

MOST_DRAWN = 40
DRAWN = {"label": pl.String, "value": pl.Float64, "low": pl.Float64, "high": pl.Float64, "note": pl.String}


def _checks(fleet: Fleet, address: Address) -> pl.DataFrame:
    return fleet.checks(address.filters).checks.drop("group", "group_label")


def _checks_by(fleet: Fleet, address: Address) -> pl.DataFrame:
    by = address.one_of("by", CHECKED_BY, CHECKED_BY[0])
    return fleet.checks(address.filters, by).groups.rename({"group": by})


def _not_recorded(fleet: Fleet, address: Address) -> pl.DataFrame:
    return fleet.checks(address.filters).unrecorded.checks


def _valves(fleet: Fleet, address: Address) -> pl.DataFrame:
    found = fleet.checks(address.filters).valves
    without, fitted = found.without_evidence.numerator, found.without_evidence.denominator
    return pl.DataFrame(
        [
            {"evidence": "none recorded", "calls": without} | _came_back(found.came_back_without),
            {"evidence": "recorded", "calls": fitted - without} | _came_back(found.came_back_with),
        ]
    )


def _proof(fleet: Fleet, address: Address) -> pl.DataFrame:
    rows = [
        {"proof": each.code, "label": each.label, "calls": each.calls}
        | _came_back(each.callback_rate)
        | {"works": each.works.numerator, "told": each.works.denominator}
        for each in fleet.checks(address.filters).proof
    ]
    return pl.DataFrame(rows)


def _came_back(rate: Rate) -> dict[str, object]:
    return {
        "came_back": rate.numerator,
        "judged": rate.denominator,
        "rate": rate.rate,
        "low": rate.low,
        "high": rate.high,
        "too_soon_to_say": rate.inside_window,
    }


TABLES_OF_CHECKS: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    "checks": _checks,
    "checks_by": _checks_by,
    "checks_not_recorded": _not_recorded,
    "valve_evidence": _valves,
    "proof": _proof,
}


def _checks_figure(fleet: Fleet, address: Address) -> Figure:
    rows = fleet.checks(address.filters).checks.filter(pl.col("per_hour_low").is_not_null()).head(MOST_DRAWN)
    notes = [f"{number(found)} of {number(made)}" for found, made in rows.select("found", "made").iter_rows()]
    drawn = rows.select(
        pl.Series("label", [capital(code.replace("_", " ")) for code in rows["check"]], dtype=pl.String),
        pl.col("per_hour").alias("value"),
        pl.col("per_hour_low").alias("low"),
        pl.col("per_hour_high").alias("high"),
        pl.Series("note", notes, dtype=pl.String),
    )
    return intervals(drawn, shares=False)


def _proof_figure(fleet: Fleet, address: Address) -> Figure:
    rows = [
        (capital(each.label), rate.rate, rate.low, rate.high, _counts(rate))
        for each in fleet.checks(address.filters).proof
        for rate in [each.callback_rate]
        if rate.denominator and percent(rate.rate, rate.denominator)
    ]
    return intervals(pl.DataFrame(rows, schema=DRAWN, orient="row"))


def _counts(rate: Rate) -> str:
    return f"{number(rate.numerator)} of {number(rate.denominator)}"


FIGURES_OF_CHECKS: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "checks": _checks_figure,
    "proof": _proof_figure,
}

TITLES_OF_CHECKS = {
    "checks": "Faults that each check found, an hour of making it",
    "proof": "Share of repairs that came back, by how far they were proved",
}
