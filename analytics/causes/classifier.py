"""The classifier: from what is known when the telephone rings to the chance of each cause.

A multinomial logistic regression on one-hot answers, where an answer that is missing is a level of its own,
with cubic splines for quantities.
"""

from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray
from scipy.special import softmax
from sklearn.base import BaseEstimator, ClassifierMixin
from sklearn.linear_model import LogisticRegression
from sklearn.preprocessing import OneHotEncoder, SplineTransformer
from sklearn.utils.multiclass import check_classification_targets
from sklearn.utils.validation import check_is_fitted, column_or_1d, validate_data

MISSING = ""
"""The level of an answer that was not given."""
LEAST_DISTINCT = 8
"""Distinct values from which a quantity gets a spline; of fewer, each value is a level."""
MOST_LEVELS = 40
"""Levels of a column that get a term of their own; the rest are taken together."""
DEGREE = 3
ROWS_AT_ONCE = 20_000


class CauseClassifier(ClassifierMixin, BaseEstimator):
    """Multinomial logistic regression on answers and quantities.

    Parameters
    ----------
    C : float
        Inverse strength of the ridge penalty, as in scikit-learn.
    knots : int
        Knots of the spline of a quantity, at its quantiles.
    least_frequent : int
        Levels seen less often are taken together.
    temperature : float
        Log odds are divided by it: above one where the model is too sure of itself on later calls (Guo,
        Pleiss, Sun and Weinberger 2017, section 4.2).
    tol, max_iter : float, int
        When the optimiser (L-BFGS) stops.

    Attributes
    ----------
    classes_ : array of shape (k,)
    levels_, quantities_ : list of str or int
        Columns by what they hold: words (or few distinct numbers), and numbers.
    terms_ : dict of str to list of str
        Names of the terms of each column, in the order of the columns of `coef_`.
    knots_ : dict of str to array of shape (knots, 1)
        Knots of the spline of each quantity, on its scale; the outer ones are its least and greatest value.
    average_ : array of shape (terms,)
        Mean of each term over the rows fitted to: what the answers of one row are held against.
    coef_ : array of shape (k, terms); intercept_ : array of shape (k,)

    Notes
    -----
    A column of words holds levels, a column of numbers a quantity; missing values are allowed in both. An
    array of numbers alone will do, as for any classifier of scikit-learn.
    """

    def __init__(
        self,
        *,
        C: float = 0.5,
        knots: int = 6,
        least_frequent: int = 20,
        temperature: float = 1.0,
        tol: float = 1e-3,
        max_iter: int = 300,
    ) -> None:
        self.C = C
        self.knots = knots
        self.least_frequent = least_frequent
        self.temperature = temperature
        self.tol = tol
        self.max_iter = max_iter

    def fit(self, X: Any, y: ArrayLike) -> Self:
        """Fit to answers and causes.

        Parameters
        ----------
        X : DataFrame, or array of float of shape (n, columns)
        y : array of shape (n,)

        Raises
        ------
        ValueError
            When there is nothing to learn from: one cause alone, no row, or shapes that do not agree.
        """
        frame = self._frame(X, reset=True)
        causes = column_or_1d(np.asarray(y), warn=True)
        check_classification_targets(causes)
        if len(causes) != frame.height:
            raise ValueError(f"There are {frame.height} rows of answers and {len(causes)} causes.")
        self.quantities_ = [name for name in frame.columns if _is_quantity(frame[name])]
        self.levels_ = [name for name in frame.columns if name not in self.quantities_]
        self.encoder_ = OneHotEncoder(
            min_frequency=self.least_frequent,
            max_categories=MOST_LEVELS,
            handle_unknown="infrequent_if_exist",
            sparse_output=False,
            dtype=np.float32,
        )
        if self.levels_:
            self.encoder_.fit(self._words(frame))
        self.knots_ = {}
        for name in self.quantities_:
            known = _scaled(frame[name])
            self.knots_[name] = _knots(known[~np.isnan(known)], self.knots)
        self.terms_ = self._named_terms()
        solver = LogisticRegression(C=self.C, tol=self.tol, max_iter=self.max_iter)
        terms = self._design(frame)
        self.average_ = terms.mean(axis=0, dtype=np.float64)
        solver.fit(terms, causes)
        self.classes_ = solver.classes_
        self.n_iter_ = solver.n_iter_
        two = len(self.classes_) == 2  # scikit-learn then keeps the log odds of the second class alone
        self.coef_ = np.vstack([-solver.coef_ / 2, solver.coef_ / 2]) if two else solver.coef_
        self.intercept_ = (
            np.concatenate([-solver.intercept_ / 2, solver.intercept_ / 2]) if two else solver.intercept_
        )
        return self

    def decision_function(self, X: Any) -> NDArray[np.float64]:
        """Return the score of each class, shape (n, k); of two classes log odds of the second, (n,)."""
        scores = self._scores(X)
        return scores[:, 1] - scores[:, 0] if len(self.classes_) == 2 else scores

    def predict_proba(self, X: Any) -> NDArray[np.float64]:
        """Return the chance of each class, shape (n, k)."""
        return np.asarray(softmax(self._scores(X), axis=1))

    def predict(self, X: Any) -> NDArray[Any]:
        """Return the likeliest class of each row, shape (n,)."""
        likeliest = self._scores(X).argmax(axis=1)
        return np.asarray(self.classes_[likeliest])

    def effects(self, X: Any) -> dict[Any, NDArray[np.float64]]:
        """Return what each column adds to the score of each class, by column, shape (n, k)."""
        check_is_fitted(self)
        terms = self._design(self._frame(X, reset=False))
        return {name: terms[:, part] @ self.coef_[:, part].T for name, part in self.parts().items()}

    def average_effects(self) -> dict[Any, NDArray[np.float64]]:
        """Return the mean of `effects` over the rows fitted to, by column, shape (k,)."""
        return {name: self.coef_[:, part] @ self.average_[part] for name, part in self.parts().items()}

    def parts(self) -> dict[Any, slice]:
        """Return which terms belong to each column."""
        parts, start = {}, 0
        for name, terms in self.terms_.items():
            parts[name] = slice(start, start + len(terms))
            start += len(terms)
        return parts

    def _scores(self, X: Any) -> NDArray[np.float64]:
        check_is_fitted(self)
        terms = self._design(self._frame(X, reset=False))
        return (terms @ self.coef_.T + self.intercept_).astype(np.float64) / self.temperature

    def _frame(self, X: Any, *, reset: bool) -> pl.DataFrame:
        """Return answers as a frame, checked against those that were fitted to."""
        if isinstance(X, pl.DataFrame):
            validate_data(self, X, skip_check_array=True, reset=reset)
            return X
        rows = validate_data(self, X, dtype=np.float64, ensure_all_finite="allow-nan", reset=reset)
        return pl.DataFrame(rows, schema=[f"x{n}" for n in range(rows.shape[1])])

    def _words(self, frame: pl.DataFrame) -> NDArray[np.object_]:
        """Return the levels of each row, shape (n, columns)."""
        known = (
            pl.col(name).fill_nan(None) if frame.schema[name].is_float() else pl.col(name)
            for name in self.levels_
        )
        words = frame.select(column.cast(pl.String).fill_null(MISSING) for column in known)
        return np.asarray(words.to_numpy().astype(object))

    def _design(self, frame: pl.DataFrame) -> NDArray[np.float32]:
        """Return the terms of each row, shape (n, terms)."""
        wide = sum(len(names) for names in self.terms_.values())
        terms = np.zeros((frame.height, wide), dtype=np.float32)
        for start in range(
            0, frame.height, ROWS_AT_ONCE
        ):  # words take more memory than the terms made of them
            part = frame.slice(start, ROWS_AT_ONCE)
            terms[start : start + ROWS_AT_ONCE] = np.hstack(self._blocks(part))
        return terms

    def _blocks(self, frame: pl.DataFrame) -> list[NDArray[np.float32]]:
        blocks = [self.encoder_.transform(self._words(frame))] if self.levels_ else []
        for name in self.quantities_:
            values = _scaled(frame[name])
            known = ~np.isnan(values)
            block = np.zeros((len(values), len(self.terms_[name])), dtype=np.float32)
            if known.any():
                block[known] = spline(self.knots_[name]).transform(values[known][:, None])
            blocks.append(block)
        return blocks or [np.zeros((frame.height, 0), dtype=np.float32)]

    def __sklearn_tags__(self) -> Any:
        """Say what the estimator takes."""
        tags = super().__sklearn_tags__()
        tags.input_tags.allow_nan = True
        return tags

    def _named_terms(self) -> dict[Any, list[str]]:
        """Return the terms of each column: levels by their word, splines by their number."""
        named: dict[Any, list[str]] = {}
        if self.levels_:
            words = self.encoder_.get_feature_names_out([f"{n}" for n in range(len(self.levels_))])
            by_column: list[list[str]] = [[] for _ in self.levels_]
            for word in words:
                column, _, level = word.partition("_")
                by_column[int(column)].append(level)
            named.update(zip(self.levels_, by_column, strict=True))
        named.update(
            {name: [f"{n}" for n in range(len(self.knots_[name]) + DEGREE - 1)] for name in self.quantities_}
        )
        return named


def spline(knots: NDArray[np.float64]) -> SplineTransformer:
    """Return the basis of a spline; made anew when needed, so that a stored model holds numbers alone."""
    basis = SplineTransformer(degree=DEGREE, knots=knots, extrapolation="constant")
    return basis.fit(knots)


def _is_quantity(column: pl.Series) -> bool:
    return column.dtype.is_numeric() and column.fill_nan(None).drop_nulls().n_unique() >= LEAST_DISTINCT


def _scaled(column: pl.Series) -> NDArray[np.float64]:
    """Return a quantity on a scale on which its size matters alike: the logarithm, of both signs."""
    values = column.cast(pl.Float64).fill_null(np.nan).to_numpy()
    return np.asarray(np.sign(values) * np.log1p(np.abs(values)))


def _knots(known: NDArray[np.float64], wanted: int) -> NDArray[np.float64]:
    """Return the quantiles of values, those that fall together spread out to be different."""
    knots = np.quantile(known, np.linspace(0, 1, wanted))
    distinct = np.unique(knots)
    if len(distinct) < wanted:
        distinct = np.linspace(distinct[0], distinct[-1], wanted)
    return np.asarray(distinct[:, None])
