"""Why: which answers moved the chance of a cause."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics.causes.classifier import CauseClassifier
from analytics.causes.model import Floats

LEAST_LOG_ODDS = 0.1
"""An answer that moves the log odds by less is not named (our convention)."""
MOST_NAMED = 4
LEAST_OTHERS = 1e-6


@dataclass(frozen=True)
class Moved:
    """An answer that moved the chance of a cause.

    Parameters
    ----------
    answer : str
        Column of the features.
    by : float
        Change of the log odds of the cause against the others, weighted by their chances, compared
        with the average call.
    """

    answer: str
    by: float


def moved(classifier: CauseClassifier, features: pl.DataFrame, cause: str) -> list[list[Moved]]:
    """Return the answers that moved one cause most, a list a row, largest first.

    Parameters
    ----------
    classifier : CauseClassifier
        Fitted.
    features : DataFrame
    cause : str
        One of its classes; of another nothing is said.
    """
    classes = list(classifier.classes_)
    if cause not in classes:
        return [[] for _ in range(features.height)]
    chances: Floats = classifier.predict_proba(features)
    at, average = classes.index(cause), classifier.average_effects()
    others = np.maximum(1 - chances[:, at], LEAST_OTHERS)
    by = {}
    for name, effect in classifier.effects(features).items():
        difference = effect - average[name]
        # less the mean over all, over the share of the others, is the same as less the mean over the others
        against = (difference[:, at] - (chances * difference).sum(axis=1)) / others
        by[str(name)] = against / classifier.temperature
    names = list(by)
    table = np.column_stack(list(by.values()))
    found = []
    for row in table:
        order = np.argsort(-np.abs(row), kind="stable")[:MOST_NAMED]
        found.append([Moved(names[n], float(row[n])) for n in order if abs(row[n]) >= LEAST_LOG_ODDS])
    return found
