"""How strong something unmeasured would have to be to explain an association away."""

from math import sqrt


def e_value(ratio: float) -> float:
    """Return the E-value of a rate ratio.

    Parameters
    ----------
    ratio : float
        Ratio of risks or of rates of a rare failure, above 0; below 1 its inverse is taken.

    Returns
    -------
    float
        The least ratio by which something unmeasured would have to be both more frequent among the exposed
        and raise the failures, beyond what was held equal, to explain the ratio away; 1: nothing is needed.

    Raises
    ------
    ValueError
        When the ratio is not above 0.

    Notes
    -----
    VanderWeele TJ, Ding P (2017), Annals of Internal Medicine 167:268-274: RR + sqrt(RR (RR - 1)); its worked
    example, a ratio of 3.9 with a lower limit of 1.8, is from memory.

    Examples
    --------
    >>> round(e_value(3.9), 2), round(e_value(1.8), 1), round(e_value(1 / 3.9), 2)
    (7.26, 3.0, 7.26)
    """
    if not ratio > 0:
        raise ValueError(f"A ratio is above 0; found {ratio}.")
    above = max(ratio, 1 / ratio)
    return above + sqrt(above * (above - 1))


def e_value_of_limit(low: float, high: float) -> float:
    """Return the E-value of the limit nearest 1; 1 where the interval holds 1.

    Examples
    --------
    >>> round(e_value_of_limit(1.8, 8.7), 1), e_value_of_limit(0.9, 1.4)
    (3.0, 1.0)
    """
    if low <= 1 <= high:
        return 1.0
    return e_value(low if low > 1 else high)
