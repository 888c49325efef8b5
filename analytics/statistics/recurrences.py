"""How often the same thing happens again: the mean number of events a unit, by age."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from analytics.statistics.intervals import CONFIDENCE

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class MeanCumulative:
    """Mean cumulative function at some ages.

    Parameters
    ----------
    time : array of float, shape (m,)
        Ages, ascending, in the unit of the histories.
    at_risk : array of int, shape (m,)
        Units watched at that age.
    mean : array of float, shape (m,)
        Events a unit up to and including that age.
    se : array of float, shape (m,)
        Its robust standard error.
    low, high : arrays of float, shape (m,)
        Limits of the interval; both 0 before the first event.
    """

    time: Numbers
    at_risk: NDArray[np.int64]
    mean: Numbers
    se: Numbers
    low: Numbers
    high: Numbers


def mean_cumulative(
    starts: ArrayLike,
    ends: ArrayLike,
    units: ArrayLike,
    ages: ArrayLike,
    at: ArrayLike | None = None,
    confidence: float = CONFIDENCE,
) -> MeanCumulative:
    """Return the mean number of events a unit by age, of units watched over part of their life each.

    Parameters
    ----------
    starts, ends : array-like of float, shape (n,)
        Age at which the watch over each unit begins and ends; a unit is at risk at both.
    units : array-like of int, shape (e,)
        Position of the unit, 0..n-1, that each event is of.
    ages : array-like of float, shape (e,)
        Age at each event, within the watch of its unit; ties, of one unit too, are events of their own.
    at : array-like of float, shape (m,), optional
        Ages to answer for, ascending; without it every age with an event.
    confidence : float
        Coverage aimed at, 0..1.

    Raises
    ------
    ValueError
        When an event lies outside the watch of its unit.

    Notes
    -----
    Estimate and robust variance: Lawless JF, Nadeau C (1995), Technometrics 37:158-168; the variance is the
    sum over units of the squared sum, over the ages at which a unit is at risk, of (its events - mean events)
    / units at risk. It supposes neither a Poisson process nor independent events of a unit. The interval is
    symmetric for the logarithm (Meeker WQ, Escobar LA 1998, Statistical Methods for Reliability Data, chapter
    16; from memory).

    Examples
    --------
    >>> found = mean_cumulative([0, 0], [9, 5], [0, 0, 1], [2, 7, 3])
    >>> found.time.tolist(), found.mean.tolist()
    ([2.0, 3.0, 7.0], [0.5, 1.0, 2.0])
    """
    first, last = np.asarray(starts, np.float64), np.asarray(ends, np.float64)
    order = np.argsort(np.asarray(ages, np.float64), kind="stable")
    age, unit = np.asarray(ages, np.float64)[order], np.asarray(units, np.int64)[order]
    if np.any((age < first[unit]) | (age > last[unit])):
        raise ValueError("An event lies outside the time its unit was watched.")
    steps, events = np.unique(age, return_counts=True)
    wanted = steps if at is None else np.asarray(at, np.float64)
    began, ended = np.sort(first), np.sort(last)

    watched = _watched(began, ended, steps)
    mean = np.concatenate([[0.0], np.cumsum(events / watched)])
    own = np.zeros(len(first))  # of each unit: its events, each over the units at risk at its age
    weight = 1 / np.repeat(watched, events)
    due = np.concatenate([[0.0], np.cumsum(events / watched**2)])  # what a unit at risk throughout is due
    before = due[np.searchsorted(steps, first, side="left")]
    whole = due[np.searchsorted(steps, last, side="right")]
    until_step = np.searchsorted(steps, wanted, side="right")
    until_event = np.searchsorted(age, wanted, side="right")
    variance, done = np.empty(len(wanted)), 0
    for m, (step, upto) in enumerate(zip(until_step, until_event, strict=True)):
        own += np.bincount(unit[done:upto], weight[done:upto], len(own))
        done = upto
        variance[m] = np.sum((own - np.minimum(due[step], whole) + np.minimum(due[step], before)) ** 2)
    at_age = mean[until_step]
    se = np.sqrt(variance)
    width = np.exp(norm.ppf((1 + confidence) / 2) * np.divide(se, at_age, where=at_age > 0, out=se * 0))
    return MeanCumulative(wanted, _watched(began, ended, wanted), at_age, se, at_age / width, at_age * width)


def _watched(began: Numbers, ended: Numbers, at: Numbers) -> NDArray[np.int64]:
    return np.asarray(np.searchsorted(began, at, side="right") - np.searchsorted(ended, at, side="left"))
