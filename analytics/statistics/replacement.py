"""When to renew what fails more as it ages: the interval of least cost in the long run."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

Floats = NDArray[np.float64]


def not_falling(rates: Floats, weights: Floats) -> Floats:
    """Return the rates nearest to these that do not fall.

    Parameters
    ----------
    rates, weights : array of float, shape (draws, ages)
        Weights above 0: the time at risk.

    Notes
    -----
    Isotonic regression, by SciPy, a draw at a time: Barlow RE, Bartholomew DJ, Bremner JM, Brunk HD (1972),
    Statistical Inference under Order Restrictions (from memory).

    Examples
    --------
    >>> not_falling(np.array([[1.0, 3.0, 2.0]]), np.ones((1, 3))).tolist()
    [[1.0, 2.5, 2.5]]
    """
    each = [isotonic_regression(rate, weights=weight).x for rate, weight in zip(rates, weights, strict=True)]
    return np.array(each).reshape(rates.shape)


def renewal_costs(ages: Floats, hazard: Floats, of_renewal: float, of_failure: float) -> Floats:
    """Cost per unit of time in the long run, renewed at each of some ages.

    Parameters
    ----------
    ages : array of float, shape (ages,)
        Right ends of the steps of age, rising, the first step from 0.
    hazard : array of float, shape (..., ages)
        Failures per unit of time in each step.
    of_renewal, of_failure : float
        Cost of a renewal, and of a failure, which is mended and leaves the age as it is.

    Returns
    -------
    array of float, shape (..., ages)

    Notes
    -----
    Barlow RE, Hunter LC (1960), Operations Research 8:90-100 (from memory): renewed at age T and mended in
    between, the long run costs (of_renewal + of_failure H(T)) / T, with H the cumulative hazard.

    Examples
    --------
    >>> renewal_costs(np.array([1.0, 2.0]), np.array([0.1, 0.3]), 10, 20).tolist()
    [12.0, 9.0]
    """
    costs: Floats = (of_renewal + of_failure * np.cumsum(hazard * np.diff(ages, prepend=0.0), axis=-1)) / ages
    return costs


def best_age(ages: Floats, costs: Floats) -> Floats:
    """Age of least cost; infinite where no age pays.

    Parameters
    ----------
    ages : array of float, shape (ages,)
    costs : array of float, shape (..., ages)
        As from `renewal_costs`, of hazards that do not fall from some early age on.

    Returns
    -------
    array of float, shape (...)

    Notes
    -----
    Where the hazard does not fall, the cost falls with the age until the next failure costs more than the
    average, and rises from there on. Where it still falls at the last age looked at, and the hazard stays as
    it is, it falls for ever: never to renew costs least.

    Examples
    --------
    >>> best_age(np.array([1.0, 2.0, 3.0]), np.array([[5.0, 4.0, 6.0], [5.0, 4.0, 3.0]])).tolist()
    [2.0, inf]
    """
    at = costs.argmin(axis=-1)
    found: Floats = np.where(at < len(ages) - 1, ages[at], np.inf)
    return found
