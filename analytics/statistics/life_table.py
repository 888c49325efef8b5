"""How long until something first happens, counted by whole days, when some are watched from late on.

All functions take counts by day along the last axis; axes before it are kept, so that many drawn samples are
answered at once. `survival.cumulative_incidence` does the same for distinct times, with a variance.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def at_risk(entering: Floats, leaving: Floats) -> Floats:
    """Return how many are watched on each day.

    Parameters
    ----------
    entering : array of float, shape (..., days)
        How many are watched from this day on, the day included: late entry is allowed.
    leaving : array of float, shape (..., days)
        How many are watched on this day for the last time, for whatever reason.

    Examples
    --------
    >>> at_risk(np.array([3.0, 0, 1]), np.array([1.0, 1, 2])).tolist()
    [3.0, 2.0, 2.0]
    """
    gone = np.cumsum(leaving, axis=-1)
    before = np.concatenate([np.zeros((*gone.shape[:-1], 1)), gone[..., :-1]], axis=-1)
    watched: Floats = np.cumsum(entering, axis=-1) - before
    return watched


def daily_hazard(events: Floats, watched: Floats) -> Floats:
    """Return the share of those watched to which it happens on each day; 0 where nobody is watched."""
    share: Floats = np.divide(events, watched, out=np.zeros_like(watched), where=watched > 0)
    return share


def still_free(hazard: Floats) -> Floats:
    """Return the share to which it has not happened by the end of each day.

    Notes
    -----
    Kaplan EL, Meier P (1958), Journal of the American Statistical Association 53:457-481, with late entry as
    in Kalbfleisch and Prentice (2002), section 1.3 (both from memory).
    """
    free: Floats = np.cumprod(1.0 - hazard, axis=-1, dtype=np.float64)
    return free


def happened_by(events: Floats, any_event: Floats, watched: Floats) -> Floats:
    """Return the share to which it has happened by each day, where other events end the wait.

    Parameters
    ----------
    events : array of float, shape (..., days)
        Events of the kind asked for.
    any_event : array of float, shape (..., days)
        Events of any kind, those included.
    watched : array of float, shape (..., days)

    Notes
    -----
    Aalen OO, Johansen S (1978), Scandinavian Journal of Statistics 5:141-150 (from memory). One minus
    `still_free` of one kind alone would count those who failed otherwise as if they were still waiting.

    Examples
    --------
    >>> ours, both, watched = np.array([1.0, 0, 1]), np.array([1.0, 1, 1]), np.array([4.0, 3, 2])
    >>> happened_by(ours, both, watched).tolist()
    [0.25, 0.25, 0.5]
    """
    free = still_free(daily_hazard(any_event, watched))
    before = np.concatenate([np.ones((*free.shape[:-1], 1)), free[..., :-1]], axis=-1)
    shares: Floats = np.cumsum(before * daily_hazard(events, watched), axis=-1)
    return shares


def cumulative_hazard(hazard: Floats) -> Floats:
    """Return the sum of daily hazards up to each day.

    Notes
    -----
    Nelson W (1972), Technometrics 14:945-966; Aalen OO (1978), Annals of Statistics 6:701-726 (from memory).
    """
    summed: Floats = np.cumsum(hazard, axis=-1)
    return summed
