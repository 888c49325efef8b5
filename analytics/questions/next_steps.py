"""What a unit that rings again and again has been through, in a line, and the next sensible step."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from analytics.catalogues.reading import Place, read_toml, record

RULES = Path(__file__).parents[1] / "catalogues" / "next_steps.toml"
DAYS_A_MONTH = 30.44
CAUSES_TOLD = 3
STEPS_SCHEMA: dict[str, Any] = {
    "unit_id": pl.String,
    "rule": pl.String,
    "step": pl.String,
    "checks": pl.List(pl.String),
    "counted": pl.Int64,
    "counted_months": pl.Int64,
    "counted_causes": pl.List(pl.String),
}


@dataclass(frozen=True, kw_only=True)
class StepRule:
    """A rule of next_steps.toml; what it leaves open fits any unit.

    Parameters
    ----------
    code, step : str
        Its name, and the words of the step.
    causes : tuple of str
        Causes counted together; none of them named: each cause for itself.
    times, months : int
        So many calls within so many months up to the latest of them; 0 times fits any unit.
    shutoff, supply : tuple of str
        Codes of the unit's shutoff valve and water supply.
    never_checked : tuple of str
        Checks of which none is on record.
    checks : tuple of str
        Checks that the step has somebody make.
    """

    code: str
    step: str
    causes: tuple[str, ...] = ()
    times: int = 0
    months: int = 0
    shutoff: tuple[str, ...] = ()
    supply: tuple[str, ...] = ()
    never_checked: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()


@cache
def step_rules() -> tuple[StepRule, ...]:
    """Read the rules, in order."""
    place = Place(RULES.name, "rules")
    return tuple(record(StepRule, each, place) for each in read_toml(RULES)["rules"])


@cache
def checks_asked_for() -> tuple[str, ...]:
    """Return the checks that some rule wants to know were never made."""
    return tuple(sorted({check for rule in step_rules() for check in rule.never_checked}))


def next_steps(
    units: pl.DataFrame, calls: pl.DataFrame, checked: pl.DataFrame, rules: tuple[StepRule, ...]
) -> pl.DataFrame:
    """Return for each unit the step of the rule that fits with most calls; of several, the first.

    Parameters
    ----------
    units : DataFrame
        Columns unit_id, shutoff_valve, water_supply.
    calls : DataFrame
        Columns unit_id, opened_on, cause.
    checked : DataFrame
        Columns unit_id and checks (list of codes).
    rules : tuple of StepRule
        In order.

    Returns
    -------
    DataFrame
        Columns unit_id, rule, step, checks, and what was counted for the rule: counted (calls),
        counted_months (from the first to the last of them), counted_causes; units that no rule fits have no
        row.
    """
    known = units.join(checked, on="unit_id", how="left").with_columns(pl.col("checks").fill_null([]))
    fitting = [_fitting(known, calls, rule).with_columns(order=pl.lit(n)) for n, rule in enumerate(rules)]
    return (
        pl.concat(fitting)
        .sort("unit_id", "counted", "order", descending=[False, True, False])
        .unique("unit_id", keep="first", maintain_order=True)
        .drop("order")
    )


def _fitting(known: pl.DataFrame, calls: pl.DataFrame, rule: StepRule) -> pl.DataFrame:
    units = known.filter(_facts(rule)).select("unit_id")
    nothing = {"counted": 0, "counted_months": 0, "counted_causes": []}
    counted = (
        units.join(_often(calls, rule), on="unit_id")
        if rule.times
        else units.with_columns(pl.lit(v, dtype=STEPS_SCHEMA[k]).alias(k) for k, v in nothing.items())
    )
    said = {"rule": rule.code, "step": rule.step, "checks": list(rule.checks)}
    return counted.with_columns(
        pl.lit(value, dtype=STEPS_SCHEMA[name]).alias(name) for name, value in said.items()
    ).select(STEPS_SCHEMA.keys())


def _facts(rule: StepRule) -> pl.Expr:
    fits = pl.lit(True)
    for column, wanted in (("shutoff_valve", rule.shutoff), ("water_supply", rule.supply)):
        if wanted:
            fits = fits & pl.col(column).is_in(list(wanted)).fill_null(False)
    if rule.never_checked:
        known = pl.col("checks").list.set_intersection(list(rule.never_checked)).list.len()
        fits = fits & (known == 0)
    return fits


def _often(calls: pl.DataFrame, rule: StepRule) -> pl.DataFrame:
    """Return the units on whose calls a cause of the rule was recorded often enough, and what was counted."""
    named = pl.col("cause").is_in(list(rule.causes)) if rule.causes else pl.col("cause").is_not_null()
    counted = calls.filter(named).with_columns(kept_apart=pl.lit("") if rule.causes else pl.col("cause"))
    together = ["unit_id", "kept_apart"]
    day = pl.col("opened_on")
    since = day.max().over(together).dt.offset_by(f"-{rule.months}mo")
    return (
        counted.filter(day >= since)
        .group_by(together)
        .agg(
            pl.len().cast(pl.Int64).alias("counted"),
            ((day.max() - day.min()).dt.total_days() / DAYS_A_MONTH)
            .round()
            .cast(pl.Int64)
            .alias("counted_months"),
            pl.col("cause").unique().sort().alias("counted_causes"),
        )
        .filter(pl.col("counted") >= rule.times)
        .sort("unit_id", "counted", pl.col("counted_causes").list.first(), descending=[False, True, False])
        .unique("unit_id", keep="first", maintain_order=True)  # where causes count each for itself
        .select("unit_id", "counted", "counted_months", "counted_causes")
    )


def stories(
    units: pl.DataFrame,
    calls: pl.DataFrame,
    labels: dict[str, dict[str, str]],
    rules: tuple[StepRule, ...],
) -> pl.DataFrame:
    """Return each unit's calls in a line of words.

    Parameters
    ----------
    units : DataFrame
        Columns unit_id, shutoff_valve, water_supply, and rule (as from `next_steps`).
    calls : DataFrame
        As for `next_steps`.
    labels : dict of str to dict
        Labels by code of the fields causes, checks, shutoff_valve, supply_type.
    rules : tuple of StepRule
        Those that `rule` names; what a rule found never checked is told.

    Returns
    -------
    DataFrame
        Columns unit_id and story.
    """
    span = (pl.col("opened_on").max() - pl.col("opened_on").min()).dt.total_days() / DAYS_A_MONTH
    lines = calls.group_by("unit_id").agg(
        pl.len().alias("calls"), span.round().cast(pl.Int64).alias("months")
    )
    cause = pl.col("cause").replace(labels["causes"]).fill_null("cause not recorded")
    causes = (
        calls.select("unit_id", cause)
        .group_by("unit_id", "cause")
        .len()
        .sort("unit_id", "len", "cause", descending=[False, True, False])
        .with_columns(pl.format("{} ({})", "cause", "len").alias("words"))
        .group_by("unit_id", maintain_order=True)
        .agg(pl.col("words"), pl.col("len"))
    )
    more = pl.col("len").list.slice(CAUSES_TOLD).list.sum()
    told = pl.col("words").list.head(CAUSES_TOLD).list.join(", ")
    others = pl.when(more > 0).then(pl.format("{}, others ({})", told, more)).otherwise(told)
    never = {
        rule.code: ", ".join(labels["checks"].get(code, code) for code in rule.never_checked)
        for rule in rules
    }
    shutoff = pl.col("shutoff_valve").replace(labels["shutoff_valve"])
    supply = pl.col("water_supply").replace(labels["supply_type"])
    facts = [
        pl.when(shutoff.is_null())
        .then(pl.lit("shutoff not recorded"))
        .otherwise(pl.format("{} shutoff", shutoff)),
        supply,
        pl.when(pl.col("never") != "").then(pl.format("never on record: {}", "never")),
    ]
    line = pl.format("{} calls in {} months: {}", "calls", "months", others)
    return (
        units.with_columns(never=pl.col("rule").replace(never).fill_null(""))
        .join(lines, on="unit_id")
        .join(causes, on="unit_id")
        .select("unit_id", pl.concat_str([line, *facts], separator="; ", ignore_nulls=True).alias("story"))
    )
