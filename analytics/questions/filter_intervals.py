"""At which age a filter is best changed, by group of households, and how sure that is."""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.cost_assumptions import FilterCosts
from analytics.questions.filter_policy_draws import DAYS_A_MONTH, REPLICATES, SEED, raised
from analytics.statistics.group_bootstrap import weights_of
from analytics.statistics.intervals import CONFIDENCE
from analytics.statistics.replacement import best_age, not_falling, renewal_costs

Floats = NDArray[np.float64]

ALL = "all"
FIELDS = ("water_supply", "shutoff_valve", "product_family")
AGES_MONTHS = np.array([14 / DAYS_A_MONTH, *range(1, 26)], dtype=float)
"""Right ends of the steps: two weeks, then months; the last stands for all ages past 24 months."""
PULL = 10.0
"""Failures at the rate of all units (at the group's level) that each step of a group is given besides."""
LEAST_FAILURES = 50
PER_UNITS, MONTHS_A_YEAR = 1000, 12
PRACTICE = {"six": 6, "twelve": 12}


@dataclass(frozen=True)
class Hazards:
    """Failures a unit-month by age of the filter; of all units, then of each group.

    Parameters
    ----------
    groups : DataFrame
        Columns field, group, failures, months; the first row is all units.
    hazard : array of float, shape (groups, 1 + replicates, steps)
        Smoothed; the first of each group as counted, then in samples of units.
    callbacks : float
        Callbacks for a failure.
    """

    groups: pl.DataFrame
    hazard: Floats
    callbacks: float


def hazards(cursor: duckdb.DuckDBPyConnection, replicates: int = REPLICATES) -> Hazards:
    """Ask the store, after `filter_policy_draws.draws` on the same cursor, and draw the samples."""
    return from_cells(queries.frame(cursor, "metrics/filter_hazards"), replicates)


def from_cells(cells: pl.DataFrame, replicates: int = REPLICATES, seed: int = SEED) -> Hazards:
    """Smooth the hazards of the rows of metrics/filter_hazards."""
    ranked = cells.with_columns(pl.col("unit_group").rank("dense") - 1)
    groups = ranked.group_by("field", "group").agg(
        pl.col("failures").sum(), months=pl.col("days").sum() / DAYS_A_MONTH
    )
    order = pl.col("field").replace_strict({name: at for at, name in enumerate((ALL, *FIELDS))})
    groups = groups.sort(order, -pl.col("months"), pl.col("group").fill_null("~")).with_row_index("row")
    placed = ranked.join(groups.select("row", "field", "group"), on=["field", "group"], nulls_equal=True)
    unit_groups, steps = ranked["unit_group"].n_unique(), len(AGES_MONTHS)
    weights = weights_of(unit_groups, replicates, seed) if unit_groups else np.ones((1 + replicates, 0))
    found = np.zeros((groups.height, 1 + replicates, steps))
    whole = np.zeros((1 + replicates, steps))
    # all units come first: groups are pulled towards them
    for row, part in placed.sort("row").partition_by("row", as_dict=True, maintain_order=True).items():
        at = (part["unit_group"].to_numpy(), part["step"].to_numpy())
        counts, told, time = np.zeros((3, unit_groups, steps))
        counts[at], told[at] = part["failures"].to_numpy(), part["told"].to_numpy()
        time[at] = part["days"].to_numpy() / DAYS_A_MONTH
        all_of_them = raised(weights @ told, weights @ counts)
        found[int(row[0])] = _smoothed(all_of_them, weights @ time, whole if row[0] else None)
        if not row[0]:
            whole = found[0]
    failures, callbacks = (float(cells[name].sum()) for name in ("failures", "callbacks"))
    return Hazards(groups.drop("row"), found, callbacks / failures if failures else 0.0)


def _smoothed(counts: Floats, time: Floats, whole: Floats | None) -> Floats:
    """Pull towards the hazard of all units at the group's level; after the first weeks let it not fall."""
    if whole is not None:
        expected = (whole * time).sum(axis=1)
        level = np.divide(counts.sum(axis=1), expected, out=np.ones(len(counts)), where=expected > 0)
        prior = np.maximum(level[:, None] * whole, 1e-9)
        counts, time = counts + PULL, time + PULL / prior
    rate = np.divide(counts, time, out=np.zeros_like(counts), where=time > 0)
    rate[:, 1:] = not_falling(rate[:, 1:], np.maximum(time, 1e-9)[:, 1:])
    return rate


@dataclass(frozen=True)
class FilterIntervals:
    """The age of least cost in the long run, of a plan.

    Parameters
    ----------
    groups : DataFrame
        All units first, then by field: columns field, group, failures, months (at risk), best, best_low,
        best_high (months; null: no interval pays), none_pays (share of samples of units in which none does),
        cost, cost_six, cost_twelve, cost_never (per 1,000 units and year: at the best, at common practice,
        never changed). All null below 50 failures.
    """

    groups: pl.DataFrame

    def of(self, field: str) -> pl.DataFrame:
        """Return the groups of one field; "all" has one row."""
        return self.groups.filter(pl.col("field") == field)

    def to_dict(self) -> list[dict[str, Any]]:
        """Return plain values for JSON."""
        return self.groups.to_dicts()


def filter_intervals(found: Hazards, costs: FilterCosts) -> FilterIntervals:
    """Weigh failures against filters at every interval."""
    of_change = costs.filter_cost + costs.planned_cost
    of_failure = costs.failure_cost * (1 + found.callbacks)
    scale = PER_UNITS * MONTHS_A_YEAR
    rows = []
    for row, hazard in zip(found.groups.iter_rows(named=True), found.hazard, strict=True):
        if row["failures"] < LEAST_FAILURES:
            rows.append(row)
            continue
        a_month = renewal_costs(AGES_MONTHS, hazard, of_change, of_failure)
        best = best_age(AGES_MONTHS, a_month)
        tail = (1 - CONFIDENCE) / 2
        # of ages, not between them: one of the samples may be infinite
        low, high = np.quantile(best[1:], [tail, 1 - tail], method="nearest")
        never = of_failure * hazard[0, -1]
        practice = {
            f"cost_{name}": float(scale * a_month[0, age == AGES_MONTHS][0]) for name, age in PRACTICE.items()
        }
        rows.append(
            row
            | {
                "best": _finite(best[0]),
                "best_low": _finite(low),
                "best_high": _finite(high),
                "none_pays": float(np.isinf(best[1:]).mean()),
                "cost": float(scale * (a_month[0].min() if np.isfinite(best[0]) else never)),
                **practice,
                "cost_never": float(scale * never),
            }
        )
    numbers = ("best", "best_low", "best_high", "none_pays", "cost", "cost_six", "cost_twelve", "cost_never")
    schema = dict(found.groups.schema) | dict.fromkeys(numbers, pl.Float64)
    return FilterIntervals(pl.DataFrame(rows, schema=schema))


def _finite(months: float) -> float | None:
    return float(months) if np.isfinite(months) else None
