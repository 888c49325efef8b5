"""Answers that hold a number: when the filter was changed, how old the unit is, how cold the freezer is."""

from functools import cache

import numpy as np
import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.calendar import MONTH_DAYS
from synthetic_data.ledger import Columns
from synthetic_data.streams import Bools, Floats, chance, pick
from synthetic_data.wording import field_words, gather

_MOST_MONTHS, _MOST_YEARS = 180, 45
_MONTH_FORMS = ("{} months", "{} months ago", "about {} months ago", "{} mo", "{} mths ago")
_YEAR_FORMS = ("{} years", "{} yrs", "about {} years", "{}", "{} years old")
_SEASONS = ("last winter", "last spring", "last summer", "last autumn")
_FEASTS = ("around christmas", "easter", "midsummer", "last fall")
_COLDEST = -26


@cache
def _month_texts() -> pl.Series:
    texts = []
    for months in range(_MOST_MONTHS + 1):
        forms = [form.format(months) for form in _MONTH_FORMS]
        if months == 0:
            forms = ["last week", "just now", "this month", "2 weeks ago", "few days ago"]
        elif months == 1:
            forms = ["a month ago", "1 month", "last month", "1 mo", "4 weeks ago"]
        elif months == 12:
            forms = ["a year ago", "12 months", "1 year ago", "about a year", "last year this time"]
        elif months % 12 == 0:
            years = months // 12
            forms = [
                f"{years} years ago",
                f"{months} months",
                f"{years} yrs",
                f"about {years} years",
                f"{years}y ago",
            ]
        texts += forms
    return pl.Series(texts)


@cache
def _year_texts() -> pl.Series:
    texts = []
    for years in range(_MOST_YEARS + 1):
        forms = [form.format(years) for form in _YEAR_FORMS]
        if years == 0:
            forms = ["new", "brand new", "few months", "less than a year", "new"]
        elif years == 1:
            forms = ["1 year", "1 yr", "about a year", "1", "one year old"]
        texts += forms
    texts += ["came with the house", "was here when we bought", "came_with_house", "don't know", "not sure"]
    return pl.Series(texts)


@cache
def _cold_texts() -> pl.Series:
    texts = []
    for celsius in range(_COLDEST, 8):
        fahrenheit = round(celsius * 9 / 5 + 32)
        texts += [
            f"{celsius} C",
            f"{fahrenheit} F",
            f"{fahrenheit}F",
            f"{celsius}°C",
            f"{fahrenheit} degrees F",
        ]
    texts += ["display says -18", "display says 0", "shows 0 F", "display -18 C", "set to 0"]
    texts += ["food hard", "food_hard", "everything hard frozen", "rock hard", "frozen solid"]
    texts += ["food soft", "food_soft", "ice cream soft", "meat is soft", "thawing"]
    texts += ["don't know", "no idea", "no thermometer", "dont_know", "seems ok"]
    return pl.Series(texts)


def filter_texts(rng: np.random.Generator, calls: Columns, unit: Columns, blank: Bools) -> pl.Series:
    """When the filter was last changed, as remembered.

    Parameters
    ----------
    calls : dict of str to array
        opened and filter_day (nan without a filter).
    unit : dict of str to array
        installed: a first filter still in is "never".
    blank : Bools
        Not noted.
    """
    assume, n = load()["callers"], len(blank)
    memory, habit = assume["memory"], assume["filter_answer"]
    age = calls["opened"] - calls["filter_day"]
    none = np.isnan(age)
    true_age = np.where(none, 1.0, np.maximum(age, 0.5))
    told = true_age * memory["pull"] * np.exp(rng.normal(0, memory["log_sd"], n))
    told = np.where(true_age < habit["fresh_days"], true_age, told)
    sure = rng.random(n) < habit["sure"] * np.exp(-true_age / memory["forget_days"])
    day = np.floor(calls["opened"] - np.where(sure, true_age, told))
    texts = _month_texts().gather(
        np.minimum(np.round(told / MONTH_DAYS), _MOST_MONTHS).astype(np.int64) * 5 + rng.integers(0, 5, n)
    )
    dated = sure & chance(rng, habit["dated"], n)
    by_season = ~dated & chance(rng, habit["by_season"], n) & (told > 45) & (told < 330)
    season = ((day % 365.25) / 91.3 + 0.35).astype(int) % 4
    seasons = pl.Series([*_SEASONS, *_FEASTS]).gather(season + 4 * chance(rng, 0.3, n))
    never = ~none & (np.abs(calls["filter_day"] - unit["installed"]) < 1) & (age > habit["never_days"])
    light = ~dated & chance(rng, habit["light"], n)
    moved = (age > habit["moved_days"]) & chance(rng, habit["moved_in"], n)
    dont_know = chance(
        rng, np.where(none, habit["dont_know_without"], assume["dont_know"]["filter_last_changed"]), n
    )
    blank = blank | (none & ~dont_know & chance(rng, habit["blank_without"], n))
    iso = pl.Series(day.astype(np.int32)).cast(pl.Date).dt.to_string("%Y-%m-%d")
    frame = pl.DataFrame({"text": texts, "iso": iso, "season": seasons})
    chosen = pl.col("text")
    for flag, other in ((by_season, pl.col("season")), (dated, pl.col("iso"))):
        chosen = pl.when(pl.lit(pl.Series(flag))).then(other).otherwise(chosen)
    for flag, level in (
        (moved, "moved_in"),
        (light, "light_came_on"),
        (never, "never"),
        (dont_know, "dont_know"),
    ):
        phrases = pl.Series([level, *field_words("filter_last_changed")[level]])
        said = phrases.gather(pick(rng, np.ones(len(phrases)), n))
        chosen = pl.when(pl.lit(pl.Series(flag))).then(pl.lit(said)).otherwise(chosen)
    return frame.select(pl.when(pl.lit(pl.Series(~blank))).then(chosen).alias("text")).to_series()


def unit_age_texts(rng: np.random.Generator, years: Floats, blank: Bools) -> pl.Series:
    """How old the unit is, as remembered; null where blank."""
    n, habit = len(years), load()["callers"]["age_answer"]
    told = np.where(years > 1.5, years * np.exp(rng.normal(0, load()["callers"]["age_memory"], n)), years)
    whole = np.where(told < 0.7, 0, np.clip(np.round(told), 0, _MOST_YEARS)).astype(np.int64)
    form = rng.integers(0, 5, n)
    inherited = (years > habit["inherited_years"]) & chance(rng, habit["inherited"], n)
    unknown = chance(rng, load()["callers"]["dont_know"]["unit_age"], n)
    odd = (_MOST_YEARS + 1) * 5
    at = np.where(unknown, odd + 3 + form % 2, np.where(inherited, odd + form % 3, whole * 5 + form))
    return gather(_year_texts(), at, blank)


def freezer_texts(rng: np.random.Generator, warm: Bools, blank: Bools) -> pl.Series:
    """How cold the freezer is, as a reading, the display, or the food; null where blank."""
    n, habit = len(warm), load()["callers"]["freezer_answer"]
    inside = rng.normal(habit["warm"], habit["warm_sd"], n)
    celsius = np.where(warm, inside, rng.normal(habit["sound"], habit["sound_sd"], n))
    whole = np.clip(np.round(celsius), _COLDEST, 7).astype(np.int64) - _COLDEST
    form, how = rng.integers(0, 5, n), rng.random(n)
    odd = (8 - _COLDEST) * 5
    food = np.where(warm & chance(rng, habit["soft_when_warm"], n), odd + 10, odd + 5)
    display = habit["reading"] + habit["display"]
    block = np.where(how < habit["reading"], whole * 5, np.where(how < display, odd, food))
    block = np.where(chance(rng, load()["callers"]["dont_know"]["freezer_temperature"], n), odd + 15, block)
    return gather(_cold_texts(), block + form, blank)
