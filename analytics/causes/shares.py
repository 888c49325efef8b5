"""What a model of causes has to beat: the shares of causes, overall and by kind of complaint."""

from collections.abc import Sequence

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.causes.model import UNSEEN, columns_of

PULL = 10
"""Episodes of the overall shares that each kind of complaint is pulled by, because some kinds are few."""

Floats = NDArray[np.float64]


def overall_shares(earlier: pl.DataFrame, codes: Sequence[str]) -> Floats:
    """Return the share of each cause among earlier episodes, shape (k,); one never seen counts half."""
    counts = np.bincount(columns_of(earlier["final_cause"], codes), minlength=len(codes)) + UNSEEN
    return np.asarray(counts / counts.sum())


def shares_by_kind(earlier: pl.DataFrame, later: pl.DataFrame, codes: Sequence[str]) -> Floats:
    """Return shares of causes among earlier episodes of the kind of complaint, a row a later one.

    Parameters
    ----------
    earlier, later : DataFrame
        Columns families (list) and, of the earlier, final_cause.
    codes : sequence of str

    Returns
    -------
    array of float, shape (later, k)
    """
    overall = overall_shares(earlier, codes)
    kinds = pl.concat([_kind(earlier), _kind(later)]).unique().to_list()
    at = {kind: n for n, kind in enumerate(kinds)}
    counts = np.tile(PULL * overall, (len(kinds), 1))
    rows = np.array([at[kind] for kind in _kind(earlier)], dtype=np.int64)
    np.add.at(counts, (rows, columns_of(earlier["final_cause"], codes)), 1.0)
    shares = counts / counts.sum(axis=1, keepdims=True)
    return np.asarray(shares[[at[kind] for kind in _kind(later)]])


def _kind(episodes: pl.DataFrame) -> pl.Series:
    return episodes.select(pl.col("families").list.sort().list.join("+")).to_series()
