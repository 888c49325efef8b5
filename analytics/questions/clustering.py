"""Design effects of units for the figures, from a sample of units where there are very many calls."""

from dataclasses import dataclass, field
from math import ceil
from typing import Any

import duckdb

from analytics import queries
from analytics.questions.reading import Reading
from analytics.questions.selecting import Selection
from analytics.statistics.design_effect import ClusterSums, design_effect

CALLS_WANTED = 40_000
"""Judged calls to work from: enough for two digits of a design effect, and few enough to answer at once."""

ALL_UNITS = 64
"""Units are numbered 0..63 by the hash of their id; those below a sample number are in the sample."""


@dataclass(frozen=True)
class DesignEffects:
    """Design effects by group and count.

    Parameters
    ----------
    sums : dict of group code (or None) to dict
        Rows of metrics/design_effect; for all calls together the key is None.
    sampled : bool
        They come from a sample of units.
    group : str or None
        The group that `of` reads.
    """

    sums: dict[str | None, dict[str, Any]]
    sampled: bool
    group: str | None = field(default=None)

    def of(self, count: str) -> float | None:
        """Return the design effect of the rate with this numerator, or None where it can not be told."""
        row = self.sums.get(self.group)
        if row is None:
            return None
        names = ("n", "x", "nn", "nx", "xx")
        return design_effect(ClusterSums(row[f"{count}_units"], *(row[f"{count}_{name}"] for name in names)))

    def of_group(self, group: str | None) -> "DesignEffects":
        """Return the design effects of one group."""
        return DesignEffects(self.sums, self.sampled, group)


def sample_for(calls: int) -> int:
    """Return the sample number that leaves about `CALLS_WANTED` of so many calls.

    Examples
    --------
    >>> sample_for(20_000), sample_for(800_000)
    (64, 4)
    """
    return min(ALL_UNITS, ceil(ALL_UNITS * CALLS_WANTED / max(calls, 1)))


def design_effects(
    cursor: duckdb.DuckDBPyConnection, values: dict[str, Any], judged: int, by: str = "none"
) -> DesignEffects:
    """Return the design effects of the calls selected, `judged` of them, by group."""
    sample = sample_for(judged)
    rows = queries.frame(cursor, "metrics/design_effect", values | {"by": by, "sample": sample})
    return DesignEffects({row["group_code"]: row for row in rows.iter_rows(named=True)}, sample < ALL_UNITS)


def effects_of_all(read: Reading, chosen: Selection, judged: int) -> DesignEffects:
    """Return the design effects of the calls selected, not by group; asked once for all that needs them."""
    return read.once(("effects", chosen.filters), lambda: design_effects(read.cursor, chosen.values, judged))
