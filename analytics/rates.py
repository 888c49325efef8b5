"""A rate as a value: what was counted, out of how many, how sure, and what was left out."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from analytics.statistics.intervals import wilson

SHOWN_AS_PERCENTAGE_FROM = 5


@dataclass(frozen=True)
class Rate:
    """A proportion with its 95% Wilson interval.

    Parameters
    ----------
    numerator, denominator : int
        Calls counted, and calls that could have counted.
    rate, low, high : float or None
        numerator / denominator and the limits of the interval, 0..1; None when the denominator is 0.
    inside_window : int
        Calls too young to judge: their window has not passed. In neither numerator nor denominator.
    left_out : dict of str to int
        Other calls left out, by reason.
    design_effect : float or None
        Variance of the rate with calls of one unit taken together, over the variance of independent calls.
    name : str
        What the rate is ("callback_rate", "first_time_fix_rate", "closed_without_return").
    """

    numerator: int
    denominator: int
    rate: float | None
    low: float | None
    high: float | None
    inside_window: int = 0
    left_out: dict[str, int] = field(default_factory=dict)
    design_effect: float | None = None
    name: str = ""

    @property
    def as_percentage(self) -> bool:
        """Say whether there are enough calls to show a bare percentage."""
        return self.denominator >= SHOWN_AS_PERCENTAGE_FROM


@dataclass(frozen=True)
class Counted:
    """What a rate is made from; the fields mean what they mean in `Rate`."""

    numerator: int
    denominator: int
    inside_window: int = 0
    left_out: dict[str, int] = field(default_factory=dict)
    design_effect: float | None = None
    name: str = ""


def rate(counted: Counted) -> Rate:
    """Return the rate of two counts, with its interval.

    Examples
    --------
    >>> found = rate(Counted(15, 148))
    >>> round(found.low, 4), round(found.high, 4)
    (0.0624, 0.1605)
    >>> rate(Counted(0, 0)).rate is None
    True
    """
    return rates([counted])[0]


def rates(several: Sequence[Counted]) -> list[Rate]:
    """Return the rates of many counts at once."""
    lows, highs = wilson([c.numerator for c in several], [c.denominator for c in several])
    return [
        Rate(
            numerator=c.numerator,
            denominator=c.denominator,
            rate=c.numerator / c.denominator if c.denominator else None,
            low=low if c.denominator else None,
            high=high if c.denominator else None,
            inside_window=c.inside_window,
            left_out=c.left_out,
            design_effect=c.design_effect,
            name=c.name,
        )
        for c, low, high in zip(several, lows.tolist(), highs.tolist(), strict=True)
    ]
