"""How far technicians differ with a cause beyond chance and mix: what the plan of teaching stands on."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import duckdb
import numpy as np
import polars as pl
from scipy.special import logit

from analytics import queries
from analytics.questions.reading import in_a_thread
from analytics.questions.selecting import Selection
from analytics.statistics.logistic import Answers, fit
from analytics.statistics.skill_spread import Counts, Likelihood, Spread, best_quarter
from analytics.teaching_assumptions import TeachingRules

WHATS = ("thought", "held")
"""What went wrong: the trouble was taken for another at first; the repair of it came back."""
MIX = ("kind", "symptom", "product_family", "supply", "filter_age_band")
"""What the expectation is made of: known before the visit, and not the technician's doing."""
DAYS_A_YEAR = 365.25
LEAST_EXPECTED, MOST_EXPECTED = 1e-4, 1 - 1e-4


@dataclass(frozen=True)
class Trouble:
    """One thing that goes wrong with one cause.

    Parameters
    ----------
    what : str
        One of `WHATS`.
    cause : str
        Code.
    calls, happened, deeper : int
        Calls, of them where it went wrong, and where the cause was found behind the one first thought of.
    technicians : list of str
        Who had such a call; they are the groups of `counts`.
    counts : Counts
        What happened by technician, and was to be expected of the mix.
    spread : Spread or None
        Of the technicians' levels; None where calls or technicians are too few, or all went one way.
    shares : tuple of pairs
        At the lower limit of the spread, the estimate and the upper limit: share that goes wrong over the
        fitted distribution, and in its best quarter.
    """

    what: str
    cause: str
    calls: int
    happened: int
    deeper: int
    technicians: list[str]
    counts: Counts
    spread: Spread | None
    shares: tuple[tuple[float, float], ...]

    def likelihood(self) -> Likelihood:
        """Return the likelihood of the technicians' levels."""
        return Likelihood(self.counts)


@dataclass(frozen=True)
class Each:
    """Returns that one wrong diagnosis brings, beyond those of one that is right, with a 95% interval."""

    value: float
    low: float
    high: float
    wrong: int


@dataclass(frozen=True)
class Skill:
    """What the plan of teaching stands on.

    Parameters
    ----------
    since, until : datetime or None
        First and last closing of the strings of returns and repairs looked at.
    years : float
        Between them.
    troubles : list of Trouble
        Most calls first.
    each : Each or None
        Returns of a wrong diagnosis; None without any.
    strings, not_known, nobody : int
        Strings of returns, of them those whose cause or first diagnosis is not known, and of the others those
        without a technician who recorded the diagnosis.
    at_work : frozenset of str
        Technicians with a diagnosis or repair in the last year.
    """

    since: datetime | None
    until: datetime | None
    years: float
    troubles: list[Trouble]
    each: Each | None
    strings: int
    not_known: int
    nobody: int
    at_work: frozenset[str]


def skill(cursor: duckdb.DuckDBPyConnection, chosen: Selection, rules: TeachingRules) -> Skill:
    """Read what went wrong, and fit how far technicians differ."""
    repaired = in_a_thread(lambda another: _repairs(another, chosen, rules), cursor.cursor())
    strings = coded_mix(queries.frame(cursor, "metrics/thoughts_by_technician", chosen.values))
    known = strings.filter(pl.col("happened").is_not_null())
    ours = known.filter(pl.col("technician").is_not_null())
    troubles = list(_troubles("thought", ours, rules))
    repairs, held = repaired()
    troubles += held
    closed = pl.concat([strings["closed_at"], repairs["closed_at"]])
    since, until = closed.min(), closed.max()
    assert since is None or isinstance(since, datetime)
    assert until is None or isinstance(until, datetime)
    return Skill(
        since,
        until,
        ((until - since).total_seconds() / 86400 + 1) / DAYS_A_YEAR if since and until else 0.0,
        sorted(troubles, key=lambda one: (-one.calls, one.cause, one.what)),
        returns_each(known),
        strings.height,
        strings.height - known.height,
        known.height - ours.height,
        _at_work(ours, repairs, until),
    )


def _repairs(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, rules: TeachingRules
) -> tuple[pl.DataFrame, list[Trouble]]:
    calls = coded_mix(queries.frame(cursor, "metrics/repairs_held", chosen.values))
    return calls, list(_troubles("held", calls, rules))


def coded_mix(calls: pl.DataFrame) -> pl.DataFrame:
    """Return the same with the mix as numbers: ranking texts takes longer than all the rest."""
    return calls.with_columns(pl.col(MIX).cast(pl.Categorical).to_physical())


def _at_work(strings: pl.DataFrame, repairs: pl.DataFrame, until: datetime | None) -> frozenset[str]:
    both = pl.concat([strings.select("closed_at", "technician"), repairs.select("closed_at", "technician")])
    if until is None:
        return frozenset()
    return frozenset(both.filter(pl.col("closed_at") > until - timedelta(days=365))["technician"])


def _troubles(what: str, calls: pl.DataFrame, rules: TeachingRules) -> Iterator[Trouble]:
    for (cause,), rows in calls.partition_by("cause", as_dict=True).items():
        yield trouble(what, str(cause), rows, rules)


def trouble(what: str, cause: str, rows: pl.DataFrame, rules: TeachingRules) -> Trouble:
    """Fit how far technicians differ with one cause; `rows` as from metrics/thoughts_by_technician."""
    names = rows["technician"].unique().sort()
    group = rows["technician"].rank("dense").cast(pl.Int64).to_numpy() - 1
    happened = rows["happened"].to_numpy().astype(bool)
    counts = Counts.of(group, expected_logits(rows, happened), happened, len(names))
    deeper = int(rows["deeper"].sum()) if "deeper" in rows.columns else 0
    enough = rows.height >= rules.least_calls and len(names) >= rules.least_technicians
    spread: Spread | None = None
    shares: tuple[tuple[float, float], ...] = ()
    if enough and 0 < happened.sum() < len(happened):
        spread = Likelihood(counts).spread()
        shares = tuple(
            best_quarter(counts, centre, width)
            for centre, width in zip(spread.centres, (spread.low, spread.estimate, spread.high), strict=True)
        )
    return Trouble(
        what, cause, rows.height, int(happened.sum()), deeper, names.to_list(), counts, spread, shares
    )


def expected_logits(rows: pl.DataFrame, happened: np.ndarray) -> np.ndarray:
    """Return the expected logit of each call from the mix alone, by a fit to all technicians' calls."""
    mixes = rows.select(MIX).with_columns(pl.Series("happened", happened)).with_row_index("row")
    cells = mixes.group_by(MIX).agg("row", pl.len().alias("calls"), pl.col("happened").sum())
    codes = cells.select(pl.col(MIX).rank("dense").fill_null(0).cast(pl.Int64)).to_numpy()
    answers = Answers.of(codes, [int(level) + 1 for level in codes.max(axis=0, initial=0)])
    expected = fit(answers, cells["happened"].to_numpy(), cells["calls"].to_numpy()).expected(answers)
    found = np.empty(rows.height)
    found[cells["row"].explode().to_numpy()] = np.repeat(expected, cells["calls"].to_numpy())
    return np.asarray(logit(np.clip(found, LEAST_EXPECTED, MOST_EXPECTED)), dtype=np.float64)


def returns_each(strings: pl.DataFrame) -> Each | None:
    """Return how many more returns strings have that began with a wrong diagnosis, within causes.

    Notes
    -----
    Difference of means within each cause, weighted by n1 n2 / (n1 + n2) as in Mantel and Haenszel (Greenland
    S, Robins JM (1985), Biometrics 41:55-68, from memory); normal limits from the variances within.
    """
    of_wrong, of_right = pl.col("returns").filter("happened"), pl.col("returns").filter(~pl.col("happened"))
    cells = strings.group_by("cause").agg(
        of_wrong.len().alias("n"),
        of_wrong.mean().alias("mean"),
        of_wrong.var(ddof=0).alias("var"),
        of_right.len().alias("n0"),
        of_right.mean().alias("mean0"),
        of_right.var(ddof=0).alias("var0"),
    )
    cells = cells.filter((pl.col("n") > 0) & (pl.col("n0") > 0)).sort("cause")
    if cells.is_empty():
        return None
    n, mean, var, n0, mean0, var0 = (cells[name].to_numpy().astype(float) for name in cells.columns[1:])
    weight = n * n0 / (n + n0)
    share = weight / weight.sum()
    value = float(share @ (mean - mean0))
    width = 1.96 * float(np.sqrt(share**2 @ (var / n + var0 / n0)))
    return Each(value, value - width, value + width, int(n.sum()))
