"""Invented fleets in which nobody differs: mixes, volumes and units do, and returns follow from those."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import polars as pl

from analytics.questions.expected import Known

BEGIN = datetime(2024, 1, 1)
HISTORY_DAYS = 365 + 30
KINDS = ("ice_making", "dispensing", "leak", "noise", "taste", "frost")
AGES = ("0 to 1", "1 to 3", "3 to 6", "6 to 9", "9 and more")
PAYERS = ("customer", "maker", "contract")
SUPPLIES = ("mains", "well", "softened")


@dataclass(frozen=True)
class Plan:
    """What a fleet is like.

    Parameters
    ----------
    weeks : int
        Weeks looked at, after a year of history.
    technicians, depots, product_families, parts, units : int
        How many there are.
    calls_a_year : int
        Calls rung in anew; returns come on top.
    base_rate : float
        Share that comes back where nothing pulls up or down.
    mix_spread, volume_spread, unit_spread : float
        Standard deviations, as logarithms or logits: of a technician's share of each kind of work,
        of how many calls each technician has, and of how often a unit's repairs come back.
    effects : float
        Standard deviation, as a logit, of what each kind of complaint, age, supply, payer and season adds.
    poor : float
        Factor on the return rate of technician 0; 1: nobody differs.
    poor_calls_a_year : int
        Calls of technician 0 in a year, where he is poor.
    """

    weeks: int = 52
    technicians: int = 24
    depots: int = 4
    product_families: int = 6
    parts: int = 10
    units: int = 2500
    calls_a_year: int = 2400
    base_rate: float = 0.08
    mix_spread: float = 0.7
    volume_spread: float = 0.5
    unit_spread: float = 0.8
    effects: float = 0.35
    poor: float = 1.0
    poor_calls_a_year: int = 100


def calls_of(plan: Plan, seed: int) -> pl.DataFrame:
    """Draw the calls of one fleet, in order of closing, with the columns of metrics/known_before."""
    rng = np.random.default_rng([seed, 8])
    days = HISTORY_DAYS + 7 * plan.weeks + 31
    drawn = rng.poisson(plan.calls_a_year * days / 365)
    unit_depot = rng.integers(0, plan.depots, plan.units)
    often = rng.lognormal(0, 1.0, plan.units)
    unit = rng.choice(plan.units, drawn, p=often / often.sum())
    kind = rng.choice(len(KINDS), drawn, p=rng.dirichlet(np.full(len(KINDS), 4.0)))
    depot_of = np.arange(plan.technicians) % plan.depots
    volume = rng.lognormal(0, plan.volume_spread, plan.technicians)
    if plan.poor != 1:
        others = volume[1:].sum()
        volume[0] = others * plan.poor_calls_a_year / (plan.calls_a_year - plan.poor_calls_a_year)
    likes = volume[:, None] * rng.lognormal(0, plan.mix_spread, (plan.technicians, len(KINDS)))
    if plan.poor != 1:  # his share of the work is that of his depot, so that he has as many calls as planned
        likes[0] = volume[0]
    units = {
        "depot": unit_depot,
        "age": rng.choice(len(AGES), plan.units),
        "supply": rng.choice(len(SUPPLIES), plan.units, p=[0.7, 0.2, 0.1]),
        "product_family": rng.choice(plan.product_families, plan.units),
        "frailty": rng.normal(0, plan.unit_spread, plan.units),
    }
    parts = rng.lognormal(0, 1.0, (len(KINDS), plan.parts))
    adds = {name: rng.normal(0, plan.effects, size) for name, size in (
        ("kind", len(KINDS)), ("age", len(AGES)), ("supply", len(SUPPLIES)), ("payer", len(PAYERS)),
        ("season", 12),
    )}  # fmt: skip
    chosen = {"opened": rng.uniform(0, days, drawn), "unit": unit, "kind": kind}
    rounds = []
    another = np.zeros(drawn, dtype=bool)
    technician = _one_of(rng, _in_depot(likes.T[kind], depot_of, unit_depot[unit], plan))
    for _ in range(6):  # a return can come back itself
        size = len(chosen["unit"])
        payer = rng.choice(len(PAYERS), size, p=[0.6, 0.25, 0.15])
        closed = chosen["opened"] + rng.gamma(2.0, 1.0, size)
        season = (chosen["opened"] // 30.4).astype(int) % 12
        own = {name: units[name][chosen["unit"]] for name in units}
        logit = (
            np.log(plan.base_rate / (1 - plan.base_rate)) - plan.unit_spread**2 / 3 + own["frailty"]
            + adds["kind"][chosen["kind"]] + adds["age"][own["age"]] + adds["supply"][own["supply"]]
            + adds["payer"][payer] + adds["season"][season]
        )  # fmt: skip
        share = 1 / (1 + np.exp(-logit))
        share = np.where(technician == 0, np.minimum(plan.poor * share, 0.9), share)
        came_back = rng.random(size) < share
        rounds.append(
            pl.DataFrame(
                {
                    "unit_hash": chosen["unit"].astype(np.uint64),
                    "opened": chosen["opened"],
                    "closed": closed,
                    "came_back": came_back,
                    "technician": technician,
                    "depot": own["depot"],
                    "product_family": own["product_family"],
                    "part": _one_of(rng, parts[chosen["kind"]]),
                    "kind": chosen["kind"],
                    "unit_age": own["age"],
                    "supply": own["supply"],
                    "payer": payer,
                    "another": another,
                }
            )
        )
        again = np.flatnonzero(came_back)
        if not len(again):
            break
        back = 1 + 29 * rng.random(len(again))
        chosen = {name: chosen[name][again] for name in chosen} | {"opened": closed[again] + back}
        before = technician[again]
        fresh = _one_of(rng, _in_depot(likes.T[chosen["kind"]], depot_of, unit_depot[chosen["unit"]], plan))
        technician = np.where(rng.random(len(again)) < 0.7, before, fresh)
        another = technician != before
    return _written(pl.concat(rounds).filter(pl.col("closed") < days).sort("closed"))


def _in_depot(weights: np.ndarray, depot_of: np.ndarray, depot: np.ndarray, plan: Plan) -> np.ndarray:
    """Leave each call to the technicians of its depot; the poor one works in all of them."""
    there = depot_of[None, :] == depot[:, None]
    if plan.poor != 1:
        there[:, 0] = True
        total = (weights[:, 1:] * there[:, 1:]).sum(axis=1)
        weights = weights.copy()
        share = plan.poor_calls_a_year / plan.calls_a_year
        weights[:, 0] = total * share / (1 - share)
    return weights * there


def _one_of(rng: np.random.Generator, weights: np.ndarray) -> np.ndarray:
    """Draw one column a row by its weights."""
    edges = weights.cumsum(axis=1)
    drawn = rng.random(len(weights)) * edges[:, -1]
    picked: np.ndarray = (drawn[:, None] >= edges).sum(axis=1)
    return picked


def _written(calls: pl.DataFrame) -> pl.DataFrame:
    """Put numbers into the words of a store."""
    at = pl.lit(BEGIN) + pl.duration(microseconds=(pl.col("closed") * 86_400e6).cast(pl.Int64))
    opened = pl.lit(BEGIN) + pl.duration(microseconds=(pl.col("opened") * 86_400e6).cast(pl.Int64))

    def named(column: str, names: tuple[str, ...]) -> pl.Expr:
        return pl.col(column).replace_strict(dict(enumerate(names)), return_dtype=pl.String)

    def numbered(column: str, letter: str) -> pl.Expr:
        return pl.concat_str(pl.lit(letter), pl.col(column).cast(pl.String))

    return calls.select(
        pl.int_range(pl.len()).cast(pl.String).alias("call_id"),
        "unit_hash",
        at.alias("closed_at"),
        "came_back",
        numbered("technician", "T").alias("technician"),
        numbered("depot", "D").alias("depot"),
        numbered("product_family", "F").alias("product_family"),
        numbered("part", "P").alias("part"),
        named("kind", KINDS).alias("kind"),
        named("unit_age", AGES).alias("unit_age"),
        numbered("product_family", "F").alias("product_line"),
        named("supply", SUPPLIES).alias("supply"),
        named("payer", PAYERS).alias("payer"),
        opened.dt.strftime("%Y-%m").alias("month"),
        pl.when("another").then(pl.lit("another")).otherwise(pl.lit("no")).alias("follows"),
    )


def known_at(calls: pl.DataFrame, until: datetime) -> Known:
    """Return the judged calls of the last twelve months, as the product reads them from a store."""
    since = until - timedelta(days=365)
    year = calls.filter(pl.col("closed_at") > since, pl.col("closed_at") <= until)
    unit = year["unit_hash"].rank("dense").cast(pl.Int64).to_numpy() - 1
    return Known(year, year["came_back"].to_numpy(), unit)


def ends_of_weeks(plan: Plan) -> list[datetime]:
    """Return until when calls can be judged at the end of each week looked at."""
    return [BEGIN + timedelta(days=HISTORY_DAYS - 30 + 7 * week) for week in range(1, plan.weeks + 1)]
