"""Numbers, shares and days as a person would write them."""

from datetime import date, datetime

LEAST_CALLS_FOR_A_SHARE = 5
LEAST_CALLS_FOR_A_DECIMAL = 100
NO_DATA = "no data"

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

ALPHA = 0.05
"""Chance below which one test, taken alone, is more than chance (usual, our choice)."""
LEAST_SHOWN = 0.001


def number(value: float | None, decimals: int = 0) -> str:
    """Write a count or quantity with thousands separated ("4,480").

    Parameters
    ----------
    value : float or None
        None is written as "no data", never as nan.
    decimals : int
        Digits after the point.
    """
    return NO_DATA if value is None else f"{value:,.{decimals}f}"


def counted(count: int, one: str, many: str | None = None) -> str:
    """Write a count with its noun: "1 call", "412 calls"."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def decimals_for(calls: int) -> int:
    """Digits after the point that a share of so many calls can carry: one from 100 calls, none below."""
    return 1 if calls >= LEAST_CALLS_FOR_A_DECIMAL else 0


def percent(share: float | None, calls: int) -> str:
    """Write a share as a percentage; "" below 5 calls, where a percentage would mislead.

    Parameters
    ----------
    share : float or None
        Proportion, 0..1; None is written as "no data".
    calls : int
        Calls the share is of; they settle the digits.
    """
    if share is None:
        return NO_DATA
    return "" if calls < LEAST_CALLS_FOR_A_SHARE else f"{100 * share:.{decimals_for(calls)}f}%"


def interval(low: float | None, high: float | None, calls: int) -> str:
    """Write the limits of a share: "6.4 to 7.9%"."""
    if low is None or high is None:
        return NO_DATA
    digits = decimals_for(calls)
    return f"{100 * low:.{digits}f} to {100 * high:.{digits}f}%"


def day(value: date | datetime | None) -> str:
    """Write a day: "3 Mar 2026"."""
    return "" if value is None else f"{value.day} {_MONTHS[value.month - 1]} {value.year}"


def weekday(value: date | datetime | None) -> str:
    """Write the day of the week: "Thursday"."""
    return "" if value is None else _WEEKDAYS[value.weekday()]


def month(value: date | None) -> str:
    """Write a month: "Mar 2026"."""
    return "" if value is None else f"{_MONTHS[value.month - 1]} {value.year}"


def week(value: date | None) -> str:
    """Write the week that begins on a Monday: "week of 2 Mar 2026"."""
    return "" if value is None else f"week of {day(value)}"


def moment(value: datetime | None, has_time: bool = True) -> str:
    """Write a day and, where the record has one, a time of day: "3 Mar 2026, 14:05"."""
    if value is None:
        return ""
    return f"{day(value)}, {value:%H:%M}" if has_time else day(value)


def days_after(days: float | None) -> str:
    """Write the time between two calls: "26 days", "under a day"."""
    return "" if days is None else "under a day" if days < 1 else counted(round(days), "day")


def as_words(code: str, label: str) -> str:
    """Return a label; where a code stands for itself its underscores become spaces ("french door")."""
    return label.replace("_", " ") if label == code and label.islower() else label


def listed(words: list[str], last: str = "and") -> str:
    """Join words as in a sentence: "North, South and West"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""


def capital(text: str) -> str:
    """Start a sentence: first letter upper case, the rest as it stands."""
    return text[:1].upper() + text[1:]


def chance_words(p: float) -> str:
    """Say of a test, alone, whether its finding is more than chance, with the chance beside it."""
    said = "more than chance" if p < ALPHA else "no more than chance may bring"
    chance = f"under {LEAST_SHOWN}" if p < LEAST_SHOWN else f"{p:.2g}"
    return f"{said} (chance of one as strong: {chance})"
