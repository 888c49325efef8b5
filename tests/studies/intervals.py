"""Each interval that the program computes, and how to draw what it is computed from and the truth."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

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


INTERVALS = (Interval("Wilson, one proportion", APPROXIMATE, wilson_replicate),)


def narrowed(interval: Interval, share: float = 0.5) -> Interval:
    """The same made wrong on purpose: about its middle, a share of its width."""

    def draw(rng: np.random.Generator) -> tuple[float, float, float]:
        truth, low, high = interval.draw(rng)
        middle, reach = (low + high) / 2, (high - low) / 2 * share
        return truth, middle - reach, middle + reach

    return Interval(f"{interval.name}, {share:.0%} of its width", interval.band, draw)


def covered(interval: Interval, seeds: range) -> np.ndarray:
    """Whether the truth lies within the limits, for each seed."""
    replicates = (interval.draw(np.random.default_rng(seed)) for seed in seeds)
    return np.array([low <= truth <= high for truth, low, high in replicates])


def holds(interval: Interval, coverage: float) -> bool:
    """Whether a coverage lies in the band wanted."""
    low, high = interval.band
    return bool(low <= coverage <= high)
