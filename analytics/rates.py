"""A rate as a value: what was counted, out of how many, how sure, and what was left out."""

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

    @classmethod
    def of(
        cls,
        numerator: int,
        denominator: int,
        *,
        inside_window: int = 0,
        left_out: dict[str, int] | None = None,
        design_effect: float | None = None,
        name: str = "",
    ) -> "Rate":
        """Return the rate of two counts, with its interval.

        Examples
        --------
        >>> rate = Rate.of(15, 148)
        >>> round(rate.low, 4), round(rate.high, 4)
        (0.0624, 0.1605)
        >>> Rate.of(0, 0).rate is None
        True
        """
        low, high = wilson([numerator], [denominator])
        return cls(
            numerator,
            denominator,
            numerator / denominator if denominator else None,
            None if denominator == 0 else float(low[0]),
            None if denominator == 0 else float(high[0]),
            inside_window,
            left_out or {},
            design_effect,
            name,
        )

    @property
    def as_percentage(self) -> bool:
        """Say whether there are enough calls to show a bare percentage."""
        return self.denominator >= SHOWN_AS_PERCENTAGE_FROM
