"""What if filters were changed by another rule: failures avoided, filters used and money, with intervals."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.cost_assumptions import FilterCosts
from analytics.questions.filter_policy_draws import RULES, YOUNG_BANDS, Draws
from analytics.statistics.group_bootstrap import limits
from analytics.statistics.sensitivity import e_value, e_value_of_limit

Floats = NDArray[np.float64]

PER_UNITS = 1000
MONTHS_A_YEAR = 12
PRACTICE_MONTHS = 6
LEAST_FAILURES = 5
"""Failures needed in every band that a rule fills, and past it."""
LEAST_GROUPS = 20
"""Groups of units needed to draw from."""
FIGURES = ("failures_avoided", "callbacks_avoided", "extra_filters", "saving")


@dataclass(frozen=True)
class FilterPolicies:
    """Other rules of changing filters against what was done.

    It supposes that the age of the filter is the cause of the difference between old and young ones.

    Parameters
    ----------
    rules : DataFrame
        One row per rule (planned, at_visit) and months: columns rule, months, changes (by the rule), then
        failures_avoided, callbacks_avoided, extra_filters and saving, each with _low and _high and, for all
        units in service, _fleet. Per 1,000 units and year, _fleet a year; null where too few failed to say.
    ratios : DataFrame
        By months: ratio (rate past them against up to them, with water supply, shutoff valve and unit age
        held equal), low, high, e_value, e_value_limit (of the limit nearest 1).
    failures, callbacks, changes : float or None
        As they were, per 1,000 units and year.
    units_now : int
        Units in service whose filter's age is known.
    costs : FilterCosts
    """

    rules: pl.DataFrame
    ratios: pl.DataFrame
    failures: float | None
    callbacks: float | None
    changes: float | None
    units_now: int
    costs: FilterCosts

    @property
    def is_known(self) -> bool:
        """Say whether there is enough for any rule."""
        return self.rules["failures_avoided"].is_not_null().any()

    def best(self) -> dict[str, Any] | None:
        """Return the rule that saves most, where it does so beyond chance."""
        sure = self.rules.filter(pl.col("saving_low") > 0).sort("saving", descending=True)
        return sure.row(0, named=True) if sure.height else None

    def telling(self) -> dict[str, Any] | None:
        """Return the rule to speak of: a plan of six months, else that which avoids most; beyond chance.

        Six months are common practice; to take the best of eight would promise too much.
        """
        sure = self.rules.filter(pl.col("failures_avoided_low") > 0)
        practice = (pl.col("rule") == "planned") & (pl.col("months") == PRACTICE_MONTHS)
        ranked = sure.sort(practice, "failures_avoided", descending=True)
        return ranked.row(0, named=True) if ranked.height else None

    def ratio_of(self, months: int) -> dict[str, Any]:
        """Return the ratio that a rule of so many months rests on."""
        return self.ratios.row(by_predicate=pl.col("months") == months, named=True)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "rules": self.rules.to_dicts(),
            "ratios": self.ratios.to_dicts(),
            "failures": self.failures,
            "callbacks": self.callbacks,
            "changes": self.changes,
            "units_now": self.units_now,
            "costs": vars(self.costs),
        }


def filter_policies(drawn: Draws, costs: FilterCosts) -> FilterPolicies:
    """Put prices on what each rule would do, and intervals about it.

    Parameters
    ----------
    drawn : Draws
        As counted, and in samples of units.
    costs : FilterCosts
    """
    scale = np.divide(
        PER_UNITS * MONTHS_A_YEAR, drawn.months, out=np.zeros_like(drawn.months), where=drawn.months > 0
    )
    values = {
        "failures_avoided": drawn.failures_avoided,
        "callbacks_avoided": drawn.callbacks_avoided,
        "extra_filters": drawn.rule_changes - drawn.replaced,
        "saving": _saving(drawn, costs),
    }
    rows = []
    for at, (rule, months) in enumerate(RULES):
        row: dict[str, Any] = {"rule": rule, "months": months, "changes": None}
        known = _enough(drawn, months)
        if known:
            row["changes"] = float(drawn.rule_changes[0, at] * scale[0])
        for name in FIGURES:
            row |= _with_limits(name, values[name][:, at] * scale, drawn.units_now if known else None)
        rows.append(row)
    whole = scale[0] if scale[0] else None
    return FilterPolicies(
        rules=pl.DataFrame(rows, schema_overrides=_SCHEMA, infer_schema_length=None),
        ratios=_ratios(drawn),
        failures=whole and float(drawn.failures[0] * whole),
        callbacks=whole and float(drawn.callbacks[0] * whole),
        changes=whole and float(drawn.changes[0] * whole),
        units_now=drawn.units_now,
        costs=costs,
    )


_SCHEMA = {"changes": pl.Float64} | {
    f"{name}{end}": pl.Float64 for name in FIGURES for end in ("", "_low", "_high", "_fleet")
}


def _saving(drawn: Draws, costs: FilterCosts) -> Floats:
    """Money saved by calls that do not come, less filters and the changing of them."""
    calls = drawn.failures_avoided + drawn.callbacks_avoided
    a_change = np.array(
        [costs.planned_cost if rule == "planned" else costs.at_visit_cost for rule, _ in RULES]
    )
    filters = (drawn.rule_changes - drawn.replaced) * costs.filter_cost
    saved: Floats = calls * costs.failure_cost - filters - drawn.rule_changes * a_change
    return saved


def _enough(drawn: Draws, months: int) -> bool:
    young = YOUNG_BANDS[months]
    below, past = drawn.band_failures[:young], drawn.band_failures[young:].sum()
    return drawn.groups >= LEAST_GROUPS and below.min() >= LEAST_FAILURES and past >= LEAST_FAILURES


def _limits(samples: Floats) -> tuple[float, float]:
    low, high = limits(samples)
    return float(low), float(high)


def _with_limits(name: str, samples: Floats, units: int | None) -> dict[str, float | None]:
    if units is None:
        return dict.fromkeys((name, f"{name}_low", f"{name}_high", f"{name}_fleet"))
    low, high = _limits(samples[1:])
    fleet = float(samples[0] * units / PER_UNITS)
    return {name: float(samples[0]), f"{name}_low": low, f"{name}_high": high, f"{name}_fleet": fleet}


def _ratios(drawn: Draws) -> pl.DataFrame:
    rows: list[dict[str, Any]] = []
    for at, months in enumerate(YOUNG_BANDS):
        if not _enough(drawn, months):
            rows.append({"months": months})
            continue
        ratio, (low, high) = float(drawn.past_ratios[0, at]), _limits(drawn.past_ratios[1:, at])
        rows.append(
            {
                "months": months,
                "ratio": ratio,
                "low": low,
                "high": high,
                "e_value": e_value(ratio),
                "e_value_limit": e_value_of_limit(low, high),
            }
        )
    columns = ("ratio", "low", "high", "e_value", "e_value_limit")
    return pl.DataFrame(rows, schema={"months": pl.Int64} | dict.fromkeys(columns, pl.Float64))
