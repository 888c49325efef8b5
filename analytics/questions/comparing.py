"""Fair comparison: returns of a group against those expected from what was known before it acted."""

from collections.abc import Sequence
from datetime import datetime

import duckdb
import numpy as np
import polars as pl
from scipy import stats

from analytics.filters import COMPARED
from analytics.questions.comparison import (
    FUNNEL_SCHEMA,
    GROUPS_SCHEMA,
    Comparison,
    beginning,
    periods_of,
)
from analytics.questions.expectations import Expectations, expectations
from analytics.questions.expected import Known, known_before, memberships
from analytics.questions.labelling import group_labels
from analytics.questions.replicates import Replicates
from analytics.questions.selecting import Selection
from analytics.statistics.funnel import LIMITS, binomial_limits, over_dispersion
from analytics.statistics.many import false_discovery
from analytics.statistics.shrinkage import shrunk
from analytics.statistics.standardised import exact_poisson, log_interval, two_sided_poisson
from analytics.statistics.stratified import mantel_haenszel

LEAST_RANKED = 20
"""Nobody with fewer calls is ranked."""
LEAST_FOR_BOOTSTRAP = 10
"""With fewer returns the interval is that of a Poisson count."""
FALSE_SHARE = 0.05
"""Of the groups said to differ, so many do not, on average (Benjamini-Hochberg)."""
FUNNEL_SIZES = 80


def comparisons(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, every: Sequence[str] = COMPARED
) -> dict[tuple[str, str], Comparison]:
    """Compare every field over every period, by field and period.

    Parameters
    ----------
    cursor : duckdb.DuckDBPyConnection
    chosen : Selection
        For its window, match and date; all calls of the last twelve months are compared.
    every : sequence of str
        Fields to compare by.
    """
    cutoffs = [cutoff for cutoff in chosen.values["cutoffs"] if cutoff is not None]
    asked = [(by, period) for by in every for period in periods_of(by)]
    until = max(cutoffs, default=None)
    empty, no_limits = pl.DataFrame(schema=GROUPS_SCHEMA), pl.DataFrame(schema=FUNNEL_SCHEMA)
    nothing = {key: Comparison(*key, None, None, 0, 0, empty, 1.0, 1.0, 0.0, no_limits) for key in asked}
    if until is None:
        return nothing
    known = known_before(
        cursor, chosen.values | {"closed_from": beginning(until, "year"), "closed_before": None}
    )
    if known.calls.is_empty():
        return nothing
    found = dict(nothing)
    for by in every:
        belongs = memberships(cursor, known, by)
        if belongs.is_empty():
            continue
        fitted = expectations(*of_groups(known, belongs), by)
        replicates = Replicates.of(fitted)
        labels = group_labels(cursor, by, list(fitted.codes))
        for period in periods_of(by):
            found[by, period] = compared(fitted, replicates, by, period, until, labels)
    return found


def of_groups(known: Known, belongs: pl.DataFrame) -> tuple[Known, pl.DataFrame]:
    """Leave out the calls that are in no group: a part is compared with other parts, not with none."""
    if belongs["call"].n_unique() == known.calls.height:
        return known, belongs
    kept = belongs.select(pl.col("call").unique().sort()).with_row_index("now")
    rows = kept["call"].to_numpy()
    unit = np.unique(known.unit[rows], return_inverse=True)[1]
    again = belongs.join(kept, on="call").select(pl.col("now").cast(pl.Int64).alias("call"), "code")
    return Known(known.calls[rows], known.came_back[rows], unit), again.sort("call", "code")


def compared(
    fitted: Expectations,
    replicates: Replicates,
    by: str,
    period: str,
    until: datetime,
    labels: dict[str | None, str],
) -> Comparison:
    """Set the groups of one period beside each other."""
    since = beginning(until, period)
    recent, within = fitted.within(since)
    calls, observed, wanted = fitted.counts(within)
    there = calls > 0
    errors = replicates.errors(within)[there]
    codes = [code for code, kept in zip(fitted.codes, there, strict=True) if kept]
    groups, spread, between = beside(calls[there], observed[there], wanted[there], errors, fitted.dispersion)
    named = groups.with_columns(
        pl.Series("group", codes, dtype=pl.String),
        pl.Series("label", [labels[code] for code in codes], dtype=pl.String),
        **_second_look(fitted, recent, within, codes, groups["differs"].to_list()),
    )
    all_calls, all_back = int(recent.sum()), int(fitted.known.came_back[recent].sum())
    return Comparison(
        by,
        period,
        since,
        until,
        all_calls,
        all_back,
        named.select(GROUPS_SCHEMA.keys()).sort(["calls", "group"], descending=[True, False]),
        fitted.dispersion,
        spread,
        between,
        limits(calls[there], all_back, all_calls, spread * np.sqrt(fitted.dispersion)),
    )


def _second_look(
    fitted: Expectations, recent: np.ndarray, within: np.ndarray, codes: list[str], differs: list[bool]
) -> dict[str, pl.Series]:
    """Compare the groups that differ with all other calls within kinds of complaint."""
    kind = fitted.known.calls["kind"].fill_null("").rank("dense").cast(pl.Int64).to_numpy() - 1
    came_back = fitted.known.came_back.astype(np.int64)
    found = []
    for code, wanted in zip(codes, differs, strict=True):
        odds = None
        if wanted:
            inside = np.zeros(len(recent), dtype=bool)
            inside[fitted.member[within & (fitted.group == fitted.codes.index(code))]] = True
            cells = np.zeros((kind.max() + 1, 2, 2), dtype=np.int64)
            np.add.at(cells, (kind[recent], 1 - inside[recent], 1 - came_back[recent]), 1)
            odds = mantel_haenszel(cells)
        found.append((odds.ratio, odds.low, odds.high) if odds else (None, None, None))
    names = ("odds_ratio", "odds_low", "odds_high")
    columns = zip(*found, strict=True) if found else ((), (), ())
    return {name: pl.Series(values, dtype=pl.Float64) for name, values in zip(names, columns, strict=True)}


def limits(calls: np.ndarray, all_back: int, all_calls: int, spread: float) -> pl.DataFrame:
    """Return the limits of the funnel over the sizes of the groups."""
    if not len(calls) or not 0 < all_back < all_calls:
        return pl.DataFrame(schema=FUNNEL_SCHEMA)
    ends = max(int(calls.min()), LEAST_RANKED), max(int(calls.max()), LEAST_RANKED + 1)
    sizes = np.unique(np.geomspace(*ends, FUNNEL_SIZES).round().astype(np.int64))
    target = all_back / all_calls
    drawn = {
        name: np.clip(binomial_limits(sizes, target, probability, spread), 0, 1)
        for name, probability in zip(("low", "high", "lowest", "highest"), LIMITS, strict=True)
    }
    return pl.DataFrame({"calls": sizes} | drawn)


def beside(
    calls: np.ndarray, observed: np.ndarray, wanted: np.ndarray, errors: np.ndarray, factor: float
) -> tuple[pl.DataFrame, float, float]:
    """Return the figures of groups (without their names), the spread of the funnel and the variance between.

    Parameters
    ----------
    calls, observed, wanted : array, shape (groups,)
        Judged calls, returns, returns expected.
    errors : array of float, shape (groups,)
        Standard error of log(observed / expected), by the bootstrap.
    factor : float
        Dispersion of counts.
    """
    few = observed < LEAST_FOR_BOOTSTRAP
    ratio = observed / wanted
    low, high = log_interval(ratio, errors)
    exact_low, exact_high = exact_poisson(observed)
    by_bootstrap = 2 * stats.norm.sf(np.abs(np.log(np.maximum(ratio, 1e-9))) / errors)
    p = np.where(few, two_sided_poisson(observed, wanted), by_bootstrap)
    ranked = calls >= LEAST_RANKED
    variance = factor / wanted
    adjusted, pulled, between = np.full(len(p), np.nan), np.full(len(p), np.nan), 0.0
    if ranked.any():
        adjusted[ranked] = false_discovery(p[ranked])
        pulled[ranked], between = shrunk(ratio[ranked], variance[ranked])
    spread = over_dispersion(((ratio - 1) / np.sqrt(variance))[ranked])
    frame = pl.DataFrame(
        {
            "calls": calls.astype(np.int64),
            "came_back": observed.astype(np.int64),
            "rate": observed / calls,
            "expected": wanted,
            "ratio": ratio,
            "low": np.where(few, exact_low / wanted, low),
            "high": np.where(few, exact_high / wanted, high),
            "assumes_independent": few,
            "shrunk": pulled,
            "extra_returns": (pulled - 1) * wanted,
            "p": p,
            "p_adjusted": adjusted,
            "ranked": ranked,
            "differs": ranked & (np.nan_to_num(adjusted, nan=1.0) < FALSE_SHARE),
        },
        nan_to_null=True,
    )
    return frame, float(np.sqrt(spread)), between
