"""Days and hours: dates as day numbers, seasons, office hours and visiting hours. Day 0 is 1 January 1970."""

from datetime import date

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.streams import Floats

YEAR_DAYS = 365.25
MONTH_DAYS = 30.4375
MINUTES = 1440.0
_MONDAY = 3  # 1 January 1970 was a Thursday


def day_number(day: date) -> int:
    """Days since 1 January 1970."""
    return (day - date(1970, 1, 1)).days


def weekday(days: Floats) -> Floats:
    """Day of the week, Monday 0."""
    return (np.floor(days) + _MONDAY) % 7


def season(name: str, days: Floats | float) -> Floats | float:
    """Factor of a season on a rate, mean 1 over the year.

    Parameters
    ----------
    name : str
        summer, winter or flat.
    days : Floats or float
        Day numbers.
    """
    shape = load()["wear"]["season"][name]
    turn = 2 * np.pi * (np.asarray(days) - shape["peak_day"]) / YEAR_DAYS
    return 1.0 + shape["swing"] * np.cos(turn)


def depth(name: str, days: Floats | float) -> Floats:
    """How deep in a season a day lies: 0 at its opposite, 1 at its peak."""
    swing = load()["wear"]["season"][name]["swing"]
    return (np.asarray(season(name, days)) - 1 + swing) / (2 * swing)


def to_minute(days: Floats) -> Floats:
    """Round to whole minutes."""
    return np.round(days * MINUTES) / MINUTES


def ringing_time(rng: np.random.Generator, due: Floats) -> Floats:
    """When a household that would ring at `due` gets through: office hours, few calls at the week-end.

    Returns
    -------
    Floats
        Day numbers with time of day, never before `due`.
    """
    hours = load()["office"]["opening_hours"]
    day = np.floor(due)
    off = weekday(due)
    keep = np.where(off == 5, hours["saturday"], np.where(off == 6, hours["sunday"], 1.0))
    waits = rng.random(len(due)) > keep
    day = day + np.where(waits, 7 - off, 0)
    span = hours["last"] - hours["first"]
    rung = day + (hours["first"] + span * rng.beta(1.3, 1.6, len(due))) / 24
    return to_minute(np.where(rung <= due, rung + 1, rung))


def arrival_time(rng: np.random.Generator, earliest: Floats, wanted: Floats) -> Floats:
    """When the technician arrives: in visiting hours, not on Sundays, at least an hour after `earliest`.

    Parameters
    ----------
    earliest, wanted : Floats
        Day numbers: what it can not precede, and the day aimed at.
    """
    hours = load()["office"]["visiting_hours"]
    span = hours["last"] - hours["first"]
    time = (hours["first"] + span * rng.random(len(wanted))) / 24
    arrived = np.floor(wanted) + time
    arrived = np.where(arrived < earliest + 1 / 24, np.floor(earliest) + 1 + time, arrived)
    return to_minute(arrived + (weekday(arrived) == 6))
