"""How often the limits of a technician's level hold the truth, over technicians drawn from the population.

python -m tests.studies.skill [--replicates 2000] [--no-write]

Skills are drawn anew in each replicate, calls from them; the tolerance below was settled before anything was
measured.
"""

import argparse
import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from scipy.special import expit, logit

from analytics.statistics.skill_spread import STEP, Counts, Likelihood
from tests.benchmarks.machine import machine

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"
HEADING = "## Limits of a technician's level\n"
HEADER = (
    "| technicians | seeds | limits | spread taken as known | half the width |\n|---|---|---:|---:|---:|\n"
)
BAND = (0.935, 0.965)
"""Wanted on average over technicians drawn from the population."""
WAYS = ("limits", "known", "halved")
"""The limits as shown, and two that are wrong on purpose."""


@dataclass(frozen=True)
class Population:
    """Technicians, and how they differ.

    Parameters
    ----------
    name : str
    technicians : int
    fewest, most : int
        Calls of each, every number between alike likely.
    share : float
        Share to whose calls it happens, at average skill and mix.
    spread : float
        Standard deviation of the levels, a logit.
    """

    name: str
    technicians: int
    fewest: int
    most: int
    share: float
    spread: float


# 0.6 is the demo's spread of skill with one group of causes: between 0.4 and by cause 0.45, technicians.toml
POPULATIONS = (
    Population("20, spread 0.6, 30 to 90 calls each, 15%", 20, 30, 90, 0.15, 0.6),
    Population("66 as in the demo, spread 0.6, 5 to 60 calls each, 8%", 66, 5, 60, 0.08, 0.6),
    Population("20, spread 0.3, 30 to 90 calls each, 15%", 20, 30, 90, 0.15, 0.3),
    Population("20, spread 1.0, 30 to 90 calls each, 15%", 20, 30, 90, 0.15, 1.0),
)
MIX = 0.5
"""Standard deviation of the expected logit between calls."""


def drawn(population: Population, seed: int) -> tuple[Counts, np.ndarray]:
    """Return counts, and the levels they were drawn from."""
    rng = np.random.default_rng(seed)
    calls = rng.integers(population.fewest, population.most + 1, population.technicians)
    group = np.repeat(np.arange(population.technicians), calls)
    levels = rng.normal(0, population.spread, population.technicians)
    expected = rng.normal(logit(population.share), MIX, len(group))
    happened = rng.random(len(group)) < expit(expected + levels[group])
    return Counts.of(group, expected, happened, population.technicians), levels


def covered(population: Population, seed: int) -> dict[str, float]:
    """Return the share of technicians whose limits hold their level, in one replicate, by way."""
    counts, levels = drawn(population, seed)
    likelihood = Likelihood(counts)
    spread = max(likelihood.spread().estimate, STEP)
    low, high = likelihood.limits(likelihood.posterior())
    known = likelihood.profile(np.array([spread]))
    limits = {"limits": (low, high), "known": likelihood.limits(likelihood.posterior(known))}
    quarter = (high - low) / 4
    limits["halved"] = low + quarter, high - quarter
    return {way: float(np.mean((levels >= low) & (levels <= high))) for way, (low, high) in limits.items()}


def coverage(population: Population, seeds: range) -> dict[str, float]:
    """Return the same on average over replicates."""
    found = [covered(population, seed) for seed in seeds]
    return {way: float(np.mean([each[way] for each in found])) for way in WAYS}


def holds(share: float) -> bool:
    """Say whether a coverage is as wanted."""
    return BAND[0] <= share <= BAND[1]


def main() -> int:
    """Run the study; 1 when something did not come out as it should."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.skill", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--replicates", type=int, default=2000)
    parser.add_argument("--no-write", action="store_true", help="print the results and write nothing")
    asked = parser.parse_args()
    rows, as_wanted = "", True
    for population in POPULATIONS:
        found = coverage(population, range(asked.replicates))
        as_wanted &= holds(found["limits"]) and not holds(found["halved"])
        cells = " | ".join(f"{found[way]:.2%}" for way in WAYS)
        rows += f"| {population.name} | 0 to {asked.replicates - 1} | {cells} |\n"
    results = f"\nMeasured on {date.today()}. {machine()}.\n\n{HEADER}{rows}"
    print(results)
    if not asked.no_write:
        before, _, after = PAGE.read_text(encoding="utf-8").partition(HEADING)
        told, _, rest = after.partition("\nMeasured on ")
        further = rest.partition("\n## ")
        PAGE.write_text(
            f"{before}{HEADING}{told}{results}" + (f"\n## {further[2]}" if further[1] else ""),
            encoding="utf-8",
        )
    return int(not as_wanted)


if __name__ == "__main__":
    sys.exit(main())
