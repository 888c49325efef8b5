"""Two proportions of different calls, and how far they lie apart."""

from statsmodels.stats.proportion import confint_proportions_2indep

from analytics.statistics.intervals import CONFIDENCE


def newcombe(
    first: tuple[int, int], second: tuple[int, int], confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Return the limits of the first proportion minus the second.

    Parameters
    ----------
    first, second : (int, int)
        Numerator and denominator, above 0, of each.
    confidence : float
        Coverage aimed at, 0..1.

    Notes
    -----
    Newcombe RG (1998), Interval estimation for the difference between independent proportions, Statistics in
    Medicine 17:873-890, method 10. It takes calls for independent; several calls of one unit make it a little
    too narrow.

    Examples
    --------
    >>> low, high = newcombe((56, 70), (48, 80))
    >>> round(low, 4), round(high, 4)
    (0.0524, 0.3339)
    """
    low, high = confint_proportions_2indep(
        *first, *second, method="newcomb", compare="diff", alpha=1 - confidence
    )
    return float(low), float(high)
