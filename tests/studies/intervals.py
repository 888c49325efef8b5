"""Each interval that the program computes, and how to draw what it is computed from and the truth."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.questions.half_years import half_years
from analytics.statistics.intervals import wilson

APPROXIMATE = (0.935, 0.965)
EXACT = (0.94, 1.0)


@dataclass(frozen=True)
class Interval:
    """One interval under study.

    Parameters
    ----------
    name : str
        What it is called in the results.
    band : tuple of float
        Coverage wanted, both ends included.
    draw : callable
        Takes a generator of random numbers; returns the truth and the two limits of one replicate.
    """

    name: str
    band: tuple[float, float]
    draw: Callable[[np.random.Generator], tuple[float, float, float]]


def wilson_replicate(rng: np.random.Generator) -> tuple[float, float, float]:
    """Independent calls: 30 to 500 of them, a rate between 3% and 40%."""
    calls, rate = rng.integers(30, 501), rng.uniform(0.03, 0.40)
    low, high = wilson([rng.binomial(calls, rate)], [calls])
    return rate, low[0], high[0]


def change_replicate(rng: np.random.Generator) -> tuple[float, float, float]:
    """Twelve months of 10 to 80 calls; each half-year has a rate of its own between 3% and 40%."""
    calls, rates = rng.integers(10, 81, size=12), rng.uniform(0.03, 0.40, size=2)
    frame = pl.DataFrame(
        {
            "month": pl.date_range(date(2025, 1, 1), date(2025, 12, 1), "1mo", eager=True),
            "numerator": rng.binomial(calls, rates.repeat(6)),
            "denominator": calls,
            "inside_window": np.zeros(12, dtype=int),
        }
    )
    found = half_years(frame)
    assert found is not None
    return rates[1] - rates[0], found.low, found.high


INTERVALS = (
    Interval("Wilson, one proportion", APPROXIMATE, wilson_replicate),
    Interval("Newcombe, change over half-years", APPROXIMATE, change_replicate),
)


@cache
def replicates(interval: Interval, seeds: range) -> NDArray[np.float64]:
    """Truth, lower and upper limit (columns) of each seed (rows)."""
    return np.array([interval.draw(np.random.default_rng(seed)) for seed in seeds])


def coverage(interval: Interval, seeds: range, share: float = 1.0) -> float:
    """Share of the seeds whose interval holds the truth.

    Parameters
    ----------
    interval : Interval
    seeds : range
    share : float
        Width of the interval, about its middle, over what it should be: other than 1 it is wrong on purpose.
    """
    truth, low, high = replicates(interval, seeds).T
    middle, reach = (low + high) / 2, (high - low) / 2 * share
    return float(np.mean(np.abs(truth - middle) <= reach))


def holds(interval: Interval, found: float) -> bool:
    """Whether a coverage lies in the band wanted."""
    return interval.band[0] <= found <= interval.band[1]
