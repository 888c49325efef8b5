"""Amounts of money, in the company's own unit, as a person would write them."""

from analytics.questions.costs import Money
from dashboard.words import NO_DATA, number

TOO_FEW = "too few for an interval"


def money(value: float | None) -> str:
    """Write an amount: "1,243", or "4.50" below ten."""
    return NO_DATA if value is None else number(value, 2 if 0 < abs(value) < 10 else 0)


def limits(low: float | None, high: float | None) -> str:
    """Write the limits of an amount: "980 to 1,610"; "" where they are not known."""
    return "" if low is None or high is None else f"{money(low)} to {money(high)}"


def with_interval(amount: Money) -> str:
    """Write the interval of an amount in words."""
    words = limits(amount.low, amount.high)
    return f"95% interval {words}" if words else TOO_FEW
