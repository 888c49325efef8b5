"""Reads quantities out of answers: "8 months", "2 yrs", "a year and a half", "-18 °C", and calendar days."""

from typing import Any

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake.normalising_dates import dates

_DAYS = {"years": 365.25, "months": 30.4375, "weeks": 7.0, "days": 1.0, "hours": 1 / 24}
_SPELT = {
    "years": "years?|yrs?|y",
    "months": "months?|mths?|mos?|m",
    "weeks": "weeks?|wks?|w",
    "days": "days?|d",
    "hours": "hours?|hrs?|h",
}
_NUMBER = r"([0-9]+(?:\.[0-9]+)?)"
_TEMPERATURE = (
    r"(-?[0-9]+(?:\.[0-9]+)?) ?(?:°|º|deg(?:ree)?s?\.?)? ?(f|c|fahrenheit|farenheit|celsius|centigrade)?\b"
)
_SURELY_CELSIUS_BELOW = -12  # a bare figure; -12 °F would be -24 °C, and no freezer is set there


class Amounts:
    """The quantities of one field.

    Parameters
    ----------
    catalogue : Catalogue
    field : str
        Coding field; one that reads nothing finds nothing.
    """

    def __init__(self, catalogue: Catalogue, field: str) -> None:
        self._entries = [amount for amount in catalogue.amounts if amount.field == field]
        self._words = catalogue.words
        self._fahrenheit = catalogue.units["degF"]

    def read(self, texts: pl.Series, day_first: bool | None) -> pl.DataFrame:
        """Level and quantity of the texts that name one.

        Parameters
        ----------
        texts : series of str
        day_first : bool or None
            Order of day and month in dates written in figures.

        Returns
        -------
        frame with text, codes, number, number_unit, day; only the texts in which a quantity was read
        """
        frame = pl.DataFrame({"text": texts})
        if not self._entries:
            return frame.head(0).with_columns(**_empty())
        frame = frame.with_columns(plain=self._plain(pl.col("text")))
        frame = frame.with_columns(**_time(pl.col("plain")), **self._temperature(pl.col("plain")))
        frame = frame.with_columns(**dates(pl.col("plain"), self._words.months, day_first))
        bare = next((e.bare for e in self._entries if e.bare), None)
        if bare:
            alone = pl.col("plain").str.extract(r"^([0-9]{1,2}(?:\.[0-9]+)?)$").cast(pl.Float64, strict=False)
            frame = frame.with_columns(
                time_number=pl.coalesce("time_number", alone),
                time_unit=pl.coalesce("time_unit", pl.when(alone.is_not_null()).then(pl.lit(bare))),
                time_days=pl.coalesce("time_days", alone * _DAYS[bare]),
            )
        chosen = [pl.when(self._fits(n)).then(n) for n in range(len(self._entries))]
        frame = frame.with_columns(entry=pl.coalesce(chosen)).filter(pl.col("entry").is_not_null())
        kinds = {n: entry.kind for n, entry in enumerate(self._entries)}
        codes = {n: entry.code for n, entry in enumerate(self._entries)}
        kind = pl.col("entry").replace_strict(kinds, return_dtype=pl.String)
        return frame.select(
            "text",
            codes=pl.concat_list(pl.col("entry").replace_strict(codes, return_dtype=pl.String)),
            number=pl.when(kind == "time").then("time_number").when(kind == "temperature").then("celsius"),
            number_unit=pl.when(kind == "time")
            .then("time_unit")
            .when((kind == "temperature") & pl.col("celsius").is_not_null())
            .then(pl.lit("celsius")),
            day=pl.when(kind == "day").then("day"),
        )

    def _plain(self, text: pl.Expr) -> pl.Expr:
        """Lower case, spoken times and numbers in figures."""
        plain = text.str.to_lowercase().str.replace_all("[½]", " 1/2").str.replace_all("[¼]", " 1/4")
        plain = plain.str.replace_all("[\\s~]+", " ").str.strip_chars(" .!?~")
        plain = plain.str.replace_all(r"([0-9]),([0-9])", "$1.$2").str.replace_all(r"\bminus |[−–]", "-")
        plain = plain.str.replace_all(r"(^|[^0-9/])([0-9]+)[ -]1/2\b", "$1$2.5").str.replace_all(
            r"(^|[^0-9/])1/2 ", "${1}0.5 "
        )
        for spoken, figures in self._words.times.items():
            plain = plain.str.replace_all(rf"\b{spoken}\b", figures)
        for word, number in self._words.numbers.items():
            plain = plain.str.replace_all(rf"\b{word}\b", f"{number:g}")
        plain = plain.str.replace_all(r"([0-9]) and (?:1 )?half\b", "$1.5")
        return plain.str.replace_all(r"\b1 ([0-9])", "$1")  # "a few" has become "1 3"

    def _temperature(self, plain: pl.Expr) -> dict[str, pl.Expr]:
        number = plain.str.extract(_TEMPERATURE, 1).cast(pl.Float64, strict=False)
        unit = plain.str.extract(_TEMPERATURE, 2).str.slice(0, 1)
        from_fahrenheit = number * self._fahrenheit.scale + self._fahrenheit.offset
        celsius = pl.when((unit == "c") | (number < _SURELY_CELSIUS_BELOW)).then(number)
        return {
            "celsius": pl.when(unit == "f").then(from_fahrenheit).otherwise(celsius),
            "is_temperature": number.is_not_null(),
        }

    def _fits(self, number: int) -> pl.Expr:
        entry = self._entries[number]
        test = {
            "day": pl.col("is_date"),
            "time": pl.col("time_days").is_not_null(),
            "temperature": pl.col("is_temperature"),
        }[entry.kind]
        if entry.below_days is not None:
            test = test & (pl.col("time_days") < entry.below_days)
        if entry.words:
            test = test & pl.col("plain").str.contains_any(list(entry.words))
        if entry.none:
            test = test & ~pl.col("plain").str.contains_any(list(entry.none))
        return test


def _time(plain: pl.Expr) -> dict[str, pl.Expr]:
    """Number, unit and days of the time named: years, months or, for anything shorter, days."""
    named = {}
    for unit, spelt in _SPELT.items():
        between = rf"\b{_NUMBER} ?(?:-|to|or) ?{_NUMBER} ?\+?(?:{spelt})\b"
        low, high = (plain.str.extract(between, place).cast(pl.Float64, strict=False) for place in (1, 2))
        single = plain.str.extract(rf"\b{_NUMBER} ?\+? ?(?:{spelt})\b", 1).cast(pl.Float64, strict=False)
        named[unit] = pl.coalesce((low + high) / 2, single)
    days = pl.sum_horizontal([named[unit] * size for unit, size in _DAYS.items()])
    any_named = pl.any_horizontal([number.is_not_null() for number in named.values()])
    short = pl.any_horizontal([named[unit].is_not_null() for unit in ("weeks", "days", "hours")])
    named_unit = (
        pl.when(short)
        .then(pl.lit("days"))
        .when(named["months"].is_not_null())
        .then(pl.lit("months"))
        .otherwise(pl.lit("years"))
    )
    size = named_unit.replace_strict(_DAYS, return_dtype=pl.Float64)
    return {
        "time_days": pl.when(any_named).then(days),
        "time_unit": pl.when(any_named).then(named_unit),
        "time_number": pl.when(any_named).then(days / size),
    }


def _empty() -> dict[str, pl.Expr]:
    kinds: dict[str, Any] = {
        "codes": pl.List(pl.String),
        "number": pl.Float64,
        "number_unit": pl.String,
        "day": pl.Date,
    }
    return {name: pl.lit(None, dtype=kind) for name, kind in kinds.items()}
