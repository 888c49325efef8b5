"""Stand-ins for the age of filters: old filters fail more, wells most, one family never."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import polars as pl

from analytics.cost_assumptions import FilterCosts
from analytics.questions import filter_cases, filter_course, overdue_filters
from analytics.questions.filter_age import BANDS, FIRST_WEEKS, FilterAge, from_cells
from analytics.questions.filter_intervals import FilterIntervals, Hazards, filter_intervals
from analytics.questions.filter_policies import FilterPolicies, filter_policies
from analytics.questions.filter_policy_draws import RULES, Draws
from tests.dashboard.fake_frames import DEPOTS, HOSTILE, LABELS

LISTED = 23
_KEYS = ("measure", "what", "band", "unit_age", "product_family", "water_supply", "shutoff_valve", "number")


def cells(failures: int = 40) -> pl.DataFrame:
    """Failures rise from band to band; a well has three times as many."""
    rows: list[tuple] = [("left_out", f"units: no filter; {HOSTILE}", *[None] * 5, 190)]
    rows += [("units", "all", band, *[None] * 4, 1000) for band in (None, FIRST_WEEKS, *BANDS)]
    for at, band in enumerate((FIRST_WEEKS, *BANDS)):
        for supply, times in (("well", 3), ("town_water", 1), (None, 1)):
            kind = (band, "3 to 6", "side_by_side", supply, "saddle")
            rows.append(("at_risk", "all", *kind, 30_000))
            for measure in ("began", "called"):
                rows.append((measure, "all", *kind, failures * times * (2 + at)))
                rows.append((measure, "flow_linked", *kind, failures * times * at // 2))
                rows.append((measure, "family:ice_making", *kind, failures * times))
    return pl.DataFrame(rows, schema=_KEYS, orient="row", infer_schema_length=None)


def case_rows(calls: int = 400) -> pl.DataFrame:
    bands = (*filter_cases.CASE_BANDS, "unknown", "not_applicable")
    rows: list[tuple] = [
        ("began", band, calls * (at + 1), calls * at // 3, calls, None) for at, band in enumerate(bands)
    ]
    rows += [
        ("answer", each, calls, calls // 5, calls // 2, None)
        for each in ("given", "never", "dont_know", "blank")
    ]
    rows += [("told", each, calls * at, 0, 0, 9.5 * at) for at, each in enumerate(filter_cases.TOLD, 1)]
    names = ("measure", "what", "number", "flow_linked", "known", "median_days")
    return pl.DataFrame(rows, schema=names, orient="row", infer_schema_length=None)


def course_rows() -> pl.DataFrame:
    """Filters of many groups of units, watched for two years; those older than half a year fail more."""
    rows: list[tuple] = []
    for group in range(64):
        rows += [("entering", "all", group, 1, 40), ("leaving", "all", group, 730, 40)]
        rows += [("unfailed", "all", group, 730, 34)]
        for at, age in enumerate((5, 60, 200, 260, 400, 600)):
            rows += [("first", ("flow_linked", "other_cause", "unknown_cause")[at % 3], group, age, 1)]
            rows += [("failed", what, group, age, 1 + at) for what in ("all", "flow_linked")]
    names = ("measure", "what", "unit_group", "age_days", "number")
    return pl.DataFrame(rows, schema=names, orient="row")


def overdue(units: int = LISTED) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "unit_id": [f"U{1000 + at}" if at else HOSTILE for at in range(units)],
            "depot": [list(DEPOTS)[at % 2] if at % 5 else None for at in range(units)],
            "product_family": ["side_by_side"] * units,
            "water_supply": ["well"] * units,
            "shutoff_valve": ["saddle"] * units,
            "known_on": [date(2025, 5, 1)] * units,
            "changed": [bool(at % 3) for at in range(units)],
            "age_days": [420] * units,
            "unit_age_days": [2000] * units,
            "as_of": [date(2026, 6, 28)] * units,
            "calls_in_a_year": [at % 4 for at in range(units)],
            "declined_on": [date(2026, 3, 2) if at == 1 else None for at in range(units)],
            "expected": [0.4 - at / 100 for at in range(units)],
            "age_months": [13.8] * units,
        }
    )


@cache
def found(at_risk: bool = True, calls: int = 400) -> FilterAge:
    rows = cells() if at_risk else cells().clear()
    cases = filter_cases.from_rows(case_rows(calls))
    answer = from_cells(rows, cases, {"families": LABELS["families"], "water_supply": {"well": "well"}})
    if not at_risk:
        return replace(answer, overdue=overdue(0))
    course = filter_course.from_rows(course_rows(), answer.past["what"].unique().to_list())
    return replace(answer, overdue=overdue(), design_effect=2.25, course=course)


@cache
def policies(costs: FilterCosts, known: bool = True) -> FilterPolicies:
    """A thousand units a year: the sooner the change the more failures are avoided, and chance blurs it."""
    rng, size = np.random.default_rng(1), (41, len(RULES))
    wide = np.array([300.0, 200, 100, 40, 60, 40, 20, 5])
    avoided = wide * rng.normal(1, 0.1, size)
    ones = np.full(41, 12_000.0)
    drawn = Draws(
        months=ones,
        failures=ones / 15,
        callbacks=ones / 150,
        changes=ones / 16,
        failures_avoided=avoided,
        callbacks_avoided=avoided / 10,
        rule_changes=np.tile(12_000 / np.array([3, 6, 9, 12, 30, 40, 60, 90]), (41, 1)),
        replaced=np.tile(np.array([400.0] * 4 + [0.0] * 4), (41, 1)),
        past_ratios=np.array([1.6, 1.4, 1.2, 1.0]) * rng.normal(1, 0.05, (41, 4)),
        band_failures=np.full(7, 500.0 if known else 0.0),
        groups=256,
        units_now=820,
    )
    return filter_policies(drawn, costs)


@cache
def intervals(costs: FilterCosts, known: bool = True) -> FilterIntervals:
    """Wells fail more and more, homes with town water always alike, and of unknown homes few failed."""
    rising, flat = np.concatenate([[0.0], 0.02 * np.arange(1, 26)]), np.full(26, 0.05)
    groups = pl.DataFrame(
        [("all", None, 900, 9000.0), ("water_supply", "well", 500, 4000.0),
         ("water_supply", "town", 390, 4000.0), ("water_supply", None, 10, 1000.0)],
        schema=["field", "group", "failures", "months"], orient="row",
    ).with_columns(pl.col("failures") * int(known))  # fmt: skip
    hazard = np.stack([rising, 2 * rising, flat, flat])[:, None, :] * np.linspace(0.95, 1.05, 21)[:, None]
    return filter_intervals(Hazards(groups, hazard, 0.1), costs)


class FakeFilters:
    """The methods of `FleetFilters` over invented numbers."""

    total: int
    at_risk = True

    def filter_age(self) -> FilterAge:
        return found(self.at_risk and self.total > 0, 400 if self.total else 0)

    def overdue_filters(
        self, depot: str | None = None, offset: int = 0, limit: int = 50
    ) -> tuple[pl.DataFrame, int]:
        return overdue_filters.page_of(self.filter_age().overdue, depot, offset, limit)

    def overdue_by_depot(self) -> pl.DataFrame:
        return overdue_filters.by_depot(self.filter_age().overdue)

    def filter_policies(self, costs: FilterCosts | None = None) -> FilterPolicies:
        return policies(costs or FilterCosts.usual(), known=self.total > 0)

    def filter_intervals(self, costs: FilterCosts | None = None) -> FilterIntervals:
        return intervals(costs or FilterCosts.usual(), known=self.total > 0)
