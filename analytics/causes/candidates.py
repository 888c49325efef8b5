"""The models that are tried, the simpler first, and the temperature that keeps them from being too sure."""

from collections.abc import Sequence
from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize_scalar
from scipy.special import softmax
from sklearn.base import BaseEstimator, ClassifierMixin, clone
from sklearn.compose import ColumnTransformer
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.pipeline import Pipeline, make_pipeline
from sklearn.preprocessing import OrdinalEncoder
from sklearn.utils.validation import check_is_fitted

from analytics.causes.classifier import CauseClassifier

Floats = NDArray[np.float64]
STRENGTHS = (0.2, 0.5, 1.0)
"""Inverse strengths of the penalty that are tried."""
TEMPERATURES = (0.5, 3.0)


class BoostedTrees(ClassifierMixin, BaseEstimator):
    """Gradient boosted trees on the same answers: the challenger.

    Parameters
    ----------
    rounds : int
        Trees a cause.
    leaves : int
        Leaves a tree at most.
    learning_rate : float
    temperature : float
        As of `CauseClassifier`.
    """

    def __init__(
        self, rounds: int = 60, leaves: int = 8, learning_rate: float = 0.1, temperature: float = 1.0
    ) -> None:
        self.rounds = rounds
        self.leaves = leaves
        self.learning_rate = learning_rate
        self.temperature = temperature

    def fit(self, X: pl.DataFrame, y: ArrayLike) -> Self:
        """Fit to answers and causes; see `CauseClassifier.fit`."""
        words = [name for name, kind in X.schema.items() if not kind.is_numeric()]
        self.trees_: Pipeline = make_pipeline(
            ColumnTransformer(
                [
                    (
                        "levels",
                        OrdinalEncoder(
                            handle_unknown="use_encoded_value", unknown_value=np.nan, max_categories=200
                        ),
                        words,
                    )
                ],
                remainder="passthrough",
            ),
            HistGradientBoostingClassifier(
                max_iter=self.rounds,
                max_leaf_nodes=self.leaves,
                learning_rate=self.learning_rate,
                l2_regularization=1.0,
                early_stopping=False,
                categorical_features=list(range(len(words))),
                random_state=1,
            ),
        )
        self.trees_.fit(self._plain(X), y)
        self.classes_ = self.trees_.classes_
        return self

    def predict_proba(self, X: pl.DataFrame) -> Floats:
        """Return the chance of each class, shape (n, k)."""
        check_is_fitted(self)
        chances = np.maximum(self.trees_.predict_proba(self._plain(X)), 1e-12)
        return np.asarray(softmax(np.log(chances) / self.temperature, axis=1))

    def predict(self, X: pl.DataFrame) -> NDArray[Any]:
        """Return the likeliest class of each row, shape (n,)."""
        likeliest = self.predict_proba(X).argmax(axis=1)
        return np.asarray(self.classes_[likeliest])

    @staticmethod
    def _plain(frame: pl.DataFrame) -> pl.DataFrame:
        return frame.with_columns(pl.col(pl.String, pl.Categorical).cast(pl.String).fill_null(""))


def candidates() -> dict[str, Sequence[Any]]:
    """Return the estimators to try by name, the simplest first; of a name the best is meant."""
    return {
        "logistic": [CauseClassifier(C=strength) for strength in STRENGTHS],
        "boosted": [BoostedTrees()],
    }


def at_temperature(estimator: Any, scores: Floats, truth: NDArray[np.int64]) -> Any:
    """Return an estimator with the temperature at which later calls are least surprising.

    Parameters
    ----------
    estimator : estimator
        Of temperature 1.
    scores : array of float, shape (n, k)
        Logarithms of the chances it gave to later calls.
    truth : array of int, shape (n,)
        Column of what was true.

    Notes
    -----
    Guo, Pleiss, Sun and Weinberger (2017), section 4.2: one number, found by minimising the log loss.
    """
    rows = np.arange(len(truth))

    def loss(temperature: float) -> float:
        heated = scores / temperature
        peak = heated.max(axis=1, keepdims=True)
        total = np.log(np.exp(heated - peak).sum(axis=1)) + peak[:, 0]
        return float((total - heated[rows, truth]).mean())

    found = minimize_scalar(loss, bounds=TEMPERATURES, method="bounded", options={"xatol": 1e-3})
    return clone(estimator).set_params(temperature=round(float(found.x), 3))
