"""How good chances of causes were, once the causes are known."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.statistics.intervals import wilson

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]
LEAST_CHANCE = 1e-6
"""A chance of zero counts as this in the log loss."""
BINS = 10


def log_losses(chances: Floats, truth: Numbers) -> Floats:
    """Return minus the natural logarithm of the chance given to what was true, shape (n,).

    Parameters
    ----------
    chances : array of float, shape (n, k)
        Rows that sum to one.
    truth : array of int, shape (n,)
        Column of what was true.

    Notes
    -----
    Chances below `LEAST_CHANCE` count as that.

    Examples
    --------
    >>> log_losses(np.array([[0.5, 0.5]]), np.array([0])).round(4).tolist()
    [0.6931]
    """
    return np.asarray(-np.log(np.maximum(chances[np.arange(len(truth)), truth], LEAST_CHANCE)))


def brier_scores(chances: Floats, truth: Numbers) -> Floats:
    """Return the sum over all causes of the squared distance from what was true, 0 to 2, shape (n,).

    Brier (1950), Monthly Weather Review 78:1-3: his own form, the sum over classes.
    """
    own = chances[np.arange(len(truth)), truth]
    return np.asarray((chances**2).sum(axis=1) - 2 * own + 1)


def is_among(chances: Floats, truth: Numbers, first: int) -> Floats:
    """Return 1.0 where what was true is among the likeliest so many, else 0.0; ties: the earlier."""
    order = np.argsort(-chances, axis=1, kind="stable")[:, :first]
    return np.asarray((order == truth[:, None]).any(axis=1).astype(np.float64))


def calibration(chances: Floats, truth: Numbers) -> pl.DataFrame:
    """Return how often causes were there that were given a chance, in bins of equal width, right-closed.

    Every chance given to any cause counts. Columns low, high (of the bin), given (chances in it),
    mean_chance, there (how often), share, share_low, share_high (Wilson; the chances of one call hang
    together, so they are a guide).
    """
    given, there = _flat(chances, truth)
    which = np.clip(np.ceil(given * BINS).astype(np.int64) - 1, 0, BINS - 1)
    count = np.bincount(which, minlength=BINS)
    total = np.bincount(which, weights=given, minlength=BINS)
    hits = np.bincount(which, weights=there, minlength=BINS).astype(np.int64)
    low, high = wilson(hits, count)
    frame = pl.DataFrame(
        {
            "low": np.arange(BINS) / BINS,
            "high": (np.arange(BINS) + 1) / BINS,
            "given": count,
            "mean_chance": total / np.maximum(count, 1),
            "there": hits,
            "share": hits / np.maximum(count, 1),
            "share_low": low,
            "share_high": high,
        }
    )
    return frame.filter(pl.col("given") > 0)


def calibration_error(given: Floats, there: Floats, bins: int = BINS) -> float:
    """Return the expected calibration error of chances of one thing.

    Parameters
    ----------
    given, there : array of float, shape (n,)
        Chances, and 1.0 where it was so.
    bins : int
        Bins of equal width, right-closed.

    Notes
    -----
    Naeini, Cooper and Hauskrecht (2015), AAAI: the mean distance of share and mean chance, bins weighted by
    their size.
    """
    which = np.clip(np.ceil(given * bins).astype(np.int64) - 1, 0, bins - 1)
    gaps = np.bincount(which, weights=there, minlength=bins) - np.bincount(
        which, weights=given, minlength=bins
    )
    return float(np.abs(gaps).sum() / len(given))


@dataclass(frozen=True)
class Decomposition:
    """Brier score = reliability - resolution + uncertainty."""

    reliability: float
    resolution: float
    uncertainty: float


def decomposition(given: Floats, there: Floats) -> Decomposition:
    """Split the Brier score of chances of one thing, grouped by distinct chance.

    Notes
    -----
    Murphy (1973), Journal of Applied Meteorology 12:595-600; exact where each distinct chance is a group.

    Examples
    --------
    >>> decomposition(np.array([0.5, 0.5]), np.array([1.0, 0.0])).uncertainty
    0.25
    """
    distinct, which, count = np.unique(given, return_inverse=True, return_counts=True)
    share = np.bincount(which, weights=there) / count
    overall = float(there.mean())
    weight = count / len(given)
    return Decomposition(
        float((weight * (distinct - share) ** 2).sum()),
        float((weight * (share - overall) ** 2).sum()),
        overall * (1 - overall),
    )


def recalls(chances: Floats, truth: Numbers, codes: tuple[str, ...]) -> pl.DataFrame:
    """Return how often each cause was found, where it was there.

    Columns cause, episodes, first (named likeliest), first_low, first_high, among_three, three_low,
    three_high (shares with Wilson intervals), mean_chance (given to it where it was there); most frequent
    first.
    """
    order = np.argsort(-chances, axis=1, kind="stable")
    hits = pl.DataFrame(
        {
            "cause": [codes[each] for each in truth],
            "first": order[:, 0] == truth,
            "three": (order[:, :3] == truth[:, None]).any(axis=1),
            "chance": chances[np.arange(len(truth)), truth],
        }
    )
    found = hits.group_by("cause").agg(
        pl.len().alias("episodes"),
        pl.col("first").sum(),
        pl.col("three").sum(),
        pl.col("chance").mean().alias("mean_chance"),
    )
    found = found.sort("episodes", "cause", descending=[True, False])
    one, three = (wilson(found[name], found["episodes"]) for name in ("first", "three"))
    return found.select(
        "cause",
        "episodes",
        (pl.col("first") / pl.col("episodes")).alias("first"),
        pl.Series("first_low", one[0]),
        pl.Series("first_high", one[1]),
        (pl.col("three") / pl.col("episodes")).alias("among_three"),
        pl.Series("three_low", three[0]),
        pl.Series("three_high", three[1]),
        "mean_chance",
    )


def _flat(chances: Floats, truth: Numbers) -> tuple[Floats, Floats]:
    there = np.zeros_like(chances)
    there[np.arange(len(truth)), truth] = 1.0
    return chances.ravel(), there.ravel()
