"""Where technicians stand with a trouble, and who would gain from a lesson: pulled towards average."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from scipy.special import expit

from analytics.questions.skill import Each, Skill, Trouble
from analytics.statistics.skill_spread import normal_levels
from analytics.teaching_assumptions import TeachingAssumptions

LIKELY = 0.8
"""Chance from which a technician is called likely below, or above, the average."""

PEOPLE_SCHEMA = {
    "technician": pl.String,
    "calls": pl.Int64,
    "happened": pl.Int64,
    **dict.fromkeys(("expected", "shrunk", "low", "high", "chance_below", "hours"), pl.Float64),
    "standing": pl.String,
    "at_work": pl.Boolean,
}


@dataclass(frozen=True)
class Standing:
    """Where the technicians stand with one trouble, each pulled towards average as far as calls are few.

    Parameters
    ----------
    expected : array of float, shape (groups,)
        Cases to be expected of the mix of a technician's work, over the fitted distribution of skill.
    ratio, low, high : array of float, shape (groups,)
        Cases to be expected of the technician, over those; and its 95% limits.
    chance_below : array of float, shape (groups,)
        Chance that a technician does worse than the average of the fitted distribution.
    to_gain : array of float, shape (groups,)
        Cases a call that would be avoided at the level of the best quarter; 0 where there are none.
    """

    expected: np.ndarray
    ratio: np.ndarray
    low: np.ndarray
    high: np.ndarray
    chance_below: np.ndarray
    to_gain: np.ndarray


def standing(one: Trouble) -> Standing:
    """Return where the technicians stand with one trouble that has a spread."""
    assert one.spread is not None
    counts, spread = one.counts, one.spread
    likelihood = one.likelihood()
    posterior, levels = likelihood.posterior(), likelihood.levels
    low, high = likelihood.limits(posterior)
    by_bin = expit(counts.offsets[:, None] + levels)
    skills = normal_levels(spread.centres[1], spread.estimate)
    expected = counts.calls @ expit(counts.offsets[:, None] + skills).mean(axis=1)
    at = counts.calls.tocoo()

    def cases(shares: np.ndarray) -> np.ndarray:
        return np.bincount(at.row, at.data * shares, len(expected))

    usual, best = one.shares[1]
    shares = counts.rates(levels)
    average = np.interp(usual, shares, levels)  # more goes wrong at higher levels
    return Standing(
        expected,
        np.asarray(counts.calls.multiply(posterior @ by_bin.T).sum(axis=1)).ravel() / expected,
        cases(expit(counts.offsets[at.col] + low[at.row])) / expected,
        cases(expit(counts.offsets[at.col] + high[at.row])) / expected,
        posterior @ (levels > average),
        np.maximum(posterior @ shares - best, 0),
    )


def hours_each(what: str, each: Each | None, assumed: TeachingAssumptions) -> float:
    """Hours that one case costs: a return for a repair that came back, else what a wrong diagnosis brings."""
    returns = 1.0 if what == "held" else max(each.value, 0.0) if each else 0.0
    return returns * assumed.hours


def people(found: Skill, one: Trouble, stand: Standing, assumed: TeachingAssumptions) -> pl.DataFrame:
    """Return the technicians with one trouble, those who would gain most first; columns `PEOPLE_SCHEMA`.

    Parameters
    ----------
    found : Skill
    one : Trouble
        With a spread.
    stand : Standing
    assumed : TeachingAssumptions

    Notes
    -----
    expected: cases to be expected of the mix of work over the fitted distribution of skill; shrunk, low,
    high: cases to be expected of the technician over those, pulled towards average; chance_below: of doing
    worse than the average; hours: what they would save a year at the level of the best quarter; standing:
    below, above or "" by `LIKELY`; at_work: with a diagnosis or repair in the last year.
    """
    calls, chance = one.counts.of_groups, stand.chance_below
    names = np.where(chance >= LIKELY, "below", np.where(chance <= 1 - LIKELY, "above", ""))
    hours = stand.to_gain * calls / found.years * hours_each(one.what, found.each, assumed)
    frame = pl.DataFrame(
        {
            "technician": one.technicians,
            "calls": calls.astype(np.int64),
            "happened": one.counts.happened.astype(np.int64),
            "expected": stand.expected,
            "shrunk": stand.ratio,
            "low": stand.low,
            "high": stand.high,
            "chance_below": chance,
            "hours": hours,
            "standing": names,
            "at_work": [name in found.at_work for name in one.technicians],
        },
        schema=PEOPLE_SCHEMA,
    )
    return frame.sort(["hours", "technician"], descending=[True, False])
