"""A fitted model of causes: a classifier, and what its classes stand for."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray
from sklearn.base import clone

from analytics.causes.features import as_features

RARER = "rarer"
"""The class that rare causes are learned as together."""
LEAST_EPISODES = 30
"""Episodes a cause needs to be learned on its own (our convention)."""
UNSEEN = 0.5
"""Counts towards the share of a cause that was never seen, so that its chance is not zero (Jeffreys)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CauseModel:
    """Chances of causes from what is known when the telephone rings.

    Parameters
    ----------
    classifier : estimator
        Fitted; its classes are codes of causes, and `RARER` where there are rare ones.
    symptoms : tuple of str
        Codes of the catalogue, as the features have them.
    codes : tuple of str
        Causes that can be final, in the order of the catalogue.
    rarer : array of float, shape (len(codes),)
        How the chance of `RARER` is spread; all zero where there is none.
    """

    classifier: Any
    symptoms: tuple[str, ...]
    codes: tuple[str, ...]
    rarer: Floats

    def chances(self, intake: pl.DataFrame) -> Floats:
        """Return the chance of each cause, shape (n, len(codes)), for rows of marts.intake."""
        return self.of_features(as_features(intake, self.symptoms))

    def of_features(self, features: pl.DataFrame) -> Floats:
        """Return the chance of each cause, shape (n, len(codes)), for features."""
        given = self.classifier.predict_proba(features)
        at = {code: n for n, code in enumerate(self.codes)}
        chances = np.zeros((len(given), len(self.codes)))
        for column, code in enumerate(self.classifier.classes_):
            if code == RARER:
                chances += given[:, column, None] * self.rarer
            else:
                chances[:, at[code]] += given[:, column]
        return chances


def fitted(
    estimator: Any, episodes: pl.DataFrame, codes: Sequence[str], symptoms: Sequence[str]
) -> CauseModel:
    """Fit a copy of an estimator to episodes.

    Parameters
    ----------
    estimator : estimator
        Left as it is.
    episodes : DataFrame
        Rows of marts.training with a final cause.
    codes, symptoms : sequence of str
        Causes that can be final, and symptoms, of the catalogue.
    """
    causes, rarer = with_rarer(episodes["final_cause"], codes)
    classifier = clone(estimator).fit(as_features(episodes, symptoms), causes.to_numpy())
    return CauseModel(classifier, tuple(symptoms), tuple(codes), rarer)


def with_rarer(causes: pl.Series, codes: Sequence[str]) -> tuple[pl.Series, Floats]:
    """Return causes with rare ones taken together, and how these are spread.

    Causes of fewer than `LEAST_EPISODES` are `RARER`, unless that leaves a single class; causes never seen
    are among them, with half an episode each. Where none is rare, the rarest stands with those never seen,
    so that these have a chance at all; not where two were seen alone.
    """
    counts = dict(causes.value_counts().iter_rows())
    unseen = {code for code in codes if code not in counts}
    rare = {code for code in codes if counts.get(code, 0) < LEAST_EPISODES}
    if len(set(counts) - rare) + bool(rare & set(counts)) < 2:
        rare = unseen
    if unseen and rare == unseen and len(counts) > 2:
        rare = unseen | {min((code for code in codes if code in counts), key=lambda code: counts[code])}
    weights = np.array([counts.get(code, 0) + UNSEEN if code in rare else 0.0 for code in codes])
    if not rare & set(counts):
        return causes, np.zeros(len(codes))
    return causes.replace(list(rare), [RARER] * len(rare)), weights / weights.sum()


def columns_of(causes: pl.Series, codes: Sequence[str]) -> NDArray[np.int64]:
    """Return the column of each cause, shape (n,)."""
    numbers = pl.Series(range(len(codes)), dtype=pl.Int64)
    return np.asarray(causes.replace_strict(list(codes), numbers).to_numpy())
