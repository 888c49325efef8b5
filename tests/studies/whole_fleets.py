"""Small whole fleets: from the generator through CSV files and the store to their callback rate."""

import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.rates import Rate
from analytics.store import Store
from synthetic_data import generate

BAND = (0.91, 0.99)
CALLS = 300
TABLES = ("calls", "visits", "checks", "parts", "units", "filter_changes", "technicians", "follow_ups")


@dataclass(frozen=True)
class FleetInterval:
    """Callback rate of one fleet, as the product shows it."""

    seed: int
    numerator: int
    denominator: int
    low: float
    high: float

    def holds(self, truth: float, share: float = 1.0) -> bool:
        """Whether the interval, or a share of its width about its middle, holds the truth."""
        middle, reach = (self.low + self.high) / 2, (self.high - self.low) / 2 * share
        return middle - reach <= truth <= middle + reach


def interval_of(seed: int) -> FleetInterval:
    """Generate a fleet, write it, load it, and ask for its callback rate."""
    with tempfile.TemporaryDirectory() as folder:
        files = generate(Path(folder) / "files", calls=CALLS, seed=seed)
        store = Store(Path(folder) / "store")
        load_files(store, [files / f"{table}.csv" for table in TABLES if (files / f"{table}.csv").exists()])
        rate: Rate = Fleet(store).figures(Filters()).callback_rate
        store.reader().close()
    if rate.low is None or rate.high is None:
        raise ValueError(f"The fleet of seed {seed} has no call whose window has passed.")
    return FleetInterval(seed, rate.numerator, rate.denominator, rate.low, rate.high)


def intervals(seeds: range, processes: int = 2) -> list[FleetInterval]:
    """The intervals of many fleets, worked on side by side."""
    if processes == 1:
        return [interval_of(seed) for seed in seeds]
    with ProcessPoolExecutor(processes, get_context("spawn")) as pool:
        return list(pool.map(interval_of, seeds))


def truth(found: list[FleetInterval]) -> float:
    """What the generator's process gives in the long run: the pooled rate of all fleets."""
    return sum(each.numerator for each in found) / sum(each.denominator for each in found)


def coverage(found: list[FleetInterval], rate: float, share: float = 1.0) -> float:
    """Share of the fleets whose interval holds the rate."""
    return float(np.mean([each.holds(rate, share) for each in found]))


def spread(found: list[FleetInterval], rate: float) -> float:
    """Variance of the fleets' rates over that of as many independent calls."""
    rates = np.array([each.numerator / each.denominator for each in found])
    independent = np.mean([rate * (1 - rate) / each.denominator for each in found])
    return float(np.mean((rates - rate) ** 2) / independent)
