"""Calls to be expected of a unit, from the time it was watched and the calls of its like."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.questions.unit_histories import LIKE, Histories, banded

RIDGE = 1.0
"""Penalty on the log ratios, as if each were known to lie about 0 with variance 1."""


def expected_calls(found: Histories) -> NDArray[np.float64]:
    """Return the calls expected of each unit.

    Parameters
    ----------
    found : Histories
        Units and calls.

    Returns
    -------
    array of float, shape (n,)
        Years watched in each age band times the rate there of its product family, water supply and shutoff.

    Notes
    -----
    The rates are those of a log-linear Poisson regression on the calls and years of each combination, with a
    ridge penalty on all but the intercept, by scikit-learn. A unit's own calls are among those the rates come
    from; it is one of many, and where it is not, it raises what is expected of it: the test is then careful.
    """
    years, calls = banded(found)
    bands = years.shape[1]
    words = found.units.select(pl.col(name).fill_null("") for name in LIKE)
    kinds = words.unique(maintain_order=True).with_row_index("kind")
    kind = words.join(kinds, on=LIKE, how="left", maintain_order="left")["kind"].cast(pl.Int64).to_numpy()
    cells = kind[:, None] * bands + np.arange(bands)
    size = kinds.height * bands
    of_years = np.bincount(cells.ravel(), years.ravel(), size).astype(np.float64)
    of_calls = np.bincount(cells.ravel(), calls.ravel(), size).astype(np.float64)
    rates = _rates(kinds, bands, of_years, of_calls).reshape(kinds.height, bands)
    return np.asarray(np.sum(years * rates[kind], axis=1))


def _rates(
    kinds: pl.DataFrame, bands: int, years: NDArray[np.float64], calls: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return calls a year of each combination of kind and age band."""
    total = years.sum()
    if not total or not calls.sum():
        return np.zeros(len(years))
    of_kind = kinds.select(LIKE).to_dummies().cast(pl.Float64).to_numpy()
    design = np.hstack([np.repeat(of_kind, bands, axis=0), np.tile(np.eye(bands), (kinds.height, 1))])
    seen = years > 0
    from sklearn.linear_model import PoissonRegressor  # only here: every command would wait for it

    model = PoissonRegressor(alpha=RIDGE / total, solver="newton-cholesky", tol=1e-8, max_iter=100)
    model.fit(design[seen], calls[seen] / years[seen], sample_weight=years[seen])
    return np.asarray(model.predict(design))
