"""Rates that multiply: a level of each kind of unit, times a ratio of each band that all kinds share."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST_ROUNDS = 500
CLOSE = 1e-9


def multiplicative_rates(of_bands: Floats, of_kinds: Floats, time: Floats) -> tuple[Floats, Floats]:
    """Fit rates kind times band, for one sample or for many at once.

    Parameters
    ----------
    of_bands : array of float, shape (..., bands)
        Events of each band, over all kinds.
    of_kinds : array of float, shape (..., kinds)
        Events of each kind, over all bands.
    time : array of float, shape (..., kinds, bands)
        Time at risk.

    Returns
    -------
    levels : array of float, shape (..., kinds)
    ratios : array of float, shape (..., bands)
        The rate of a kind in a band is their product; 0 where there was no event or no time. The ratios have
        the mean 1 over the time at risk.

    Notes
    -----
    Maximum likelihood of a Poisson model with a term for each kind and each band, by turns (Breslow NE, Day
    NE (1975), Journal of Chronic Diseases 28:289-303, from memory): the events expected agree with those seen
    in each kind and each band. Few events in a kind do no harm, as its level stands for itself alone.

    Examples
    --------
    >>> time = np.array([[100.0, 50.0], [20.0, 80.0]])
    >>> levels, ratios = multiplicative_rates(np.array([14.0, 26.0]), np.array([20.0, 20.0]), time)
    >>> (levels @ time * ratios).round(6).tolist()
    [14.0, 26.0]
    """
    ratios = np.ones_like(of_bands, dtype=float)
    for _ in range(MOST_ROUNDS):
        levels = _over(of_kinds, (time @ ratios[..., None])[..., 0])
        again = _over(of_bands, (levels[..., None, :] @ time)[..., 0, :])
        moved = np.abs(again - ratios).max(initial=0.0)
        ratios = again
        if moved < CLOSE:
            break
    whole = time.sum(axis=-2)
    mean = _over((ratios * whole).sum(axis=-1), whole.sum(axis=-1))[..., None]
    return _over(of_kinds, (time @ ratios[..., None])[..., 0]) * mean, _over(ratios, mean)


def _over(above: Floats, below: Floats) -> Floats:
    """Divide; nothing over nothing is nothing."""
    above, below = np.broadcast_arrays(above, below)
    found: Floats = np.divide(above, below, out=np.zeros(above.shape), where=below > 0)
    return found
