"""Limits of rates by the age of the filter that allow for units that fail again and again."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.statistics.group_bootstrap import drawn_sums, limits

Floats = NDArray[np.float64]

DAYS_A_MONTH = 30.4375
PER_MONTHS = 1000
EDGES_DAYS = (15, 92, 183, 274, 366, 548)
"""First day of each band after the first two weeks, as in metrics/filter_months."""
PAST_DAYS = {"6": 183, "12": 366}


def widened(watched: Floats, failed: dict[str, Floats]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return limits of ratios and of rates by band over drawn groups of units.

    Parameters
    ----------
    watched : array of float, shape (groups, days)
        Filters at risk on each day of age.
    failed : dict of str to array of float, shape (groups, days)
        Failures of each kind.

    Returns
    -------
    ratios, bands : DataFrame
        As `FilterCourse.widened` and `FilterCourse.bands`.
    """
    edges = [0, *[edge for edge in EDGES_DAYS if edge < watched.shape[1]]]
    by_band = [np.add.reduceat(each, edges, axis=1) for each in (watched, *failed.values())]
    summed = drawn_sums(np.stack(by_band))
    months = summed[:, 0] / DAYS_A_MONTH
    ratios, bands = [], []
    for at, what in enumerate(failed, start=1):
        with np.errstate(divide="ignore", invalid="ignore"):
            rates = PER_MONTHS * summed[:, at] / months
        low, high = limits(rates[1:])
        bands += [
            {"what": what, "band": band, "low": float(low[band]), "high": float(high[band])}
            for band in range(len(edges))
        ]
        for name, from_days in PAST_DAYS.items():
            old = np.array(edges) >= from_days
            young = ~old & (np.array(edges) > 0)
            ratios.append({"what": what, "months": name} | _ratio(summed[:, at], months, old, young))
    return pl.DataFrame(ratios, infer_schema_length=None), pl.DataFrame(bands, infer_schema_length=None)


def _ratio(
    counts: Floats, months: Floats, old: NDArray[np.bool_], young: NDArray[np.bool_]
) -> dict[str, float | None]:
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = [counts[:, which].sum(axis=1) / months[:, which].sum(axis=1) for which in (old, young)]
        ratio = rate[0] / rate[1]
    low, high = limits(ratio[1:, None])
    found = {"ratio": float(ratio[0]), "low": float(low[0]), "high": float(high[0])}
    return {name: value if np.isfinite(value) else None for name, value in found.items()}
