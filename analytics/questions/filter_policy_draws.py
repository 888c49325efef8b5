"""Other rules of changing filters over the time that was watched, in samples of units drawn anew.

How it is done: each kind of unit has a level of failures, and each band of filter age a ratio that all kinds
share (so that the kind of unit is held equal). A rule moves time between the bands: every day that was
watched gets the age its filter would have had. Failures under the rule are that time at the same levels and
ratios, the first two weeks after a change included: frequent changes pay for the trouble they bring.

Who has trouble often changes the filter before ringing. A failure whose duration nobody told then counts by
the day of the call, falsely as one of a new filter. So rates come from failures with a duration told, raised
to the number of all: it supposes that durations are told as often of old filters as of new ones.
"""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.questions.filter_age import lay_out
from analytics.statistics.group_bootstrap import weights_of
from analytics.statistics.multiplicative import multiplicative_rates

Floats = NDArray[np.float64]

DAYS_A_MONTH = 30.4375
RULES = tuple((rule, months) for rule in ("planned", "at_visit") for months in (3, 6, 9, 12))
BANDS = 7
YOUNG_BANDS = {3: 2, 6: 3, 9: 4, 12: 5}
"""How many bands lie below so many months, the first two weeks included."""
GROUPS = 256
"""Units fall into so many groups by their hash; groups are drawn, which costs the same for any fleet."""
REPLICATES = 500
SEED = 20_261_127
AT_ONCE = 100
LEAST_TOLD = 0.2
"""Share of failures with a duration told, below which all failures are taken as they are."""


@dataclass(frozen=True)
class Draws:
    """What each rule would do, as counted and in each sample; the first row is as counted.

    Parameters
    ----------
    months : array of float, shape (1 + replicates,)
        Unit-months at risk.
    failures, callbacks, changes : arrays of float, shape (1 + replicates,)
        As they were.
    failures_avoided, callbacks_avoided : arrays of float, shape (1 + replicates, rules)
    rule_changes : array of float, shape (1 + replicates, rules)
        Changes that the rule makes.
    replaced : array of float, shape (1 + replicates, rules)
        Recorded changes that the rule takes the place of.
    past_ratios : array of float, shape (1 + replicates, 4)
        Rate past 3, 6, 9 and 12 months against that up to then, with the kind of unit held equal.
    band_failures : array of float, shape (7,)
        Failures by band, as counted.
    groups : int
        Groups of units with time at risk: fewer than units only in large fleets.
    units_now : int
        Units in service whose filter's age is known.
    """

    months: Floats
    failures: Floats
    callbacks: Floats
    changes: Floats
    failures_avoided: Floats
    callbacks_avoided: Floats
    rule_changes: Floats
    replaced: Floats
    past_ratios: Floats
    band_failures: Floats
    groups: int
    units_now: int


def draws(cursor: duckdb.DuckDBPyConnection, groups: int = GROUPS, replicates: int = REPLICATES) -> Draws:
    """Ask the store, and draw the samples.

    Parameters
    ----------
    cursor : DuckDBPyConnection
        Its temporary tables of filters are made anew.
    groups : int
        Groups that units fall into; beyond the number of units nearly each is a group of its own.
    replicates : int
        Samples.
    """
    lay_out(cursor)
    queries.run(cursor, "metrics/filter_policy_time", {"groups": groups})
    return from_cells(queries.frame(cursor, "metrics/filter_policies"), replicates)


def from_cells(cells: pl.DataFrame, replicates: int = REPLICATES, seed: int = SEED) -> Draws:
    """Draw the samples from the rows of metrics/filter_policies."""
    counted = cells.filter(pl.col("unit_group").is_not_null()).with_columns(
        pl.col("unit_group", "kind").rank("dense") - 1
    )
    # a unit without time at risk has no group: it can not be drawn, and brings nothing
    groups = int(counted["unit_group"].max() or 0) + 1 if counted.height else 0  # type: ignore[arg-type]
    kinds = int(counted["kind"].max() or 0) + 1 if counted.height else 0  # type: ignore[arg-type]
    by_measure = counted.partition_by("measure", "months", as_dict=True)
    weights = weights_of(groups, replicates, seed) if groups else np.ones((1 + replicates, 0))
    summed = [
        _of_samples(by_measure, weights[start : start + AT_ONCE], (groups, kinds))
        for start in range(0, 1 + replicates, AT_ONCE)
    ]
    whole = {name: np.concatenate([part[name] for part in summed]) for name in summed[0]}
    units = cells.filter(pl.col("measure") == "units_now")["number"].sum()
    failed = by_measure.get(("failures", None), counted.clear())
    of_bands = np.zeros(BANDS)
    np.add.at(of_bands, failed["band"].to_numpy(), failed["number"].to_numpy())
    return Draws(**whole, band_failures=of_bands, groups=groups, units_now=int(units))


def _of_samples(
    by_measure: dict[tuple[object, ...], pl.DataFrame], weights: Floats, size: tuple[int, int]
) -> dict[str, Floats]:
    groups, kinds = size

    def drawn(measure: str, months: int | None = None) -> Floats:
        """Sums of each sample, shape (samples, kinds, bands)."""
        sums = np.zeros((groups, kinds * BANDS))
        if (part := by_measure.get((measure, months))) is not None:
            at = part.select(pl.col("kind") * BANDS + pl.col("band")).to_series().to_numpy()
            sums[part["unit_group"].to_numpy(), at] = part["number"].to_numpy()
        return (weights @ sums).reshape(len(weights), kinds, BANDS)

    def changes(measure: str, months: int | None = None) -> Floats:
        """Sums of each sample, shape (samples,)."""
        sums = np.zeros(groups)
        if (part := by_measure.get((measure, months))) is not None:
            sums[part["unit_group"].to_numpy()] = part["number"].to_numpy()
        return weights @ sums

    time = drawn("at_risk")
    counts = {name: drawn(name) for name in ("failures", "callbacks")}
    told = {name: raised(drawn(f"told_{name}"), each) for name, each in counts.items()}
    fits = {
        name: multiplicative_rates(each.sum(axis=1), each.sum(axis=2), time) for name, each in told.items()
    }
    avoided = {name: np.zeros((len(weights), len(RULES))) for name in counts}
    for at, (rule, months) in enumerate(RULES):
        more = drawn(rule, months) - (time if rule == "planned" else 0.0)
        for name, (levels, ratios) in fits.items():
            avoided[name][:, at] = -((levels[:, None, :] @ more)[:, 0] * ratios).sum(axis=1)
    levels, ratios = fits["failures"]
    return {
        "months": time.sum(axis=(1, 2)) / DAYS_A_MONTH,
        "failures": counts["failures"].sum(axis=(1, 2)),
        "callbacks": counts["callbacks"].sum(axis=(1, 2)),
        "changes": changes("changes"),
        "failures_avoided": avoided["failures"],
        "callbacks_avoided": avoided["callbacks"],
        "rule_changes": np.column_stack([changes(f"{rule}_changes", months) for rule, months in RULES]),
        "replaced": np.column_stack(
            [changes("own_changes") if rule == "planned" else np.zeros(len(weights)) for rule, _ in RULES]
        ),
        "past_ratios": _past_ratios(levels, ratios, time),
    }


def raised(told: Floats, counts: Floats) -> Floats:
    """Raise failures with a duration told to the number of all, sample by sample; all where few are told.

    Parameters
    ----------
    told, counts : arrays of float, shape (samples, ...)
    """
    beyond_samples = tuple(range(1, counts.ndim))
    of_told = told.sum(axis=beyond_samples, keepdims=True)
    of_all = counts.sum(axis=beyond_samples, keepdims=True)
    enough = of_told >= LEAST_TOLD * of_all
    found: Floats = np.where(
        enough, told * np.divide(of_all, of_told, out=np.ones_like(of_all), where=of_told > 0), counts
    )
    return found


def _past_ratios(levels: Floats, ratios: Floats, time: Floats) -> Floats:
    """Failures of each kind's time past some months, over those of the same time at the young ages' rate."""
    found = []
    at_level = (levels[:, None, :] @ time)[:, 0]  # days of each band, at the level of their kinds
    for young in YOUNG_BANDS.values():
        with np.errstate(invalid="ignore", divide="ignore"):
            old = (at_level * ratios)[:, young:].sum(axis=1) / at_level[:, young:].sum(axis=1)
            new = (at_level * ratios)[:, :young].sum(axis=1) / at_level[:, :young].sum(axis=1)
            found.append(old / new)
    return np.column_stack(found)
