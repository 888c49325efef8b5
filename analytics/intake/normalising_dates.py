"""Reads a calendar day out of an answer: "2025-03-03", "12/03/2025", "3 Mar 2025", "March 2025"."""

from collections.abc import Mapping

import polars as pl

MIDDLE = 15  # the day that stands for a month named without one
_YEAR_FIRST = r"\b((?:19|20)[0-9]{2})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})\b"
_FIGURES = r"\b([0-9]{1,2})[-/.]([0-9]{1,2})[-/.]((?:19|20)?[0-9]{2})\b"
_MONTH_YEAR = r"(?:^|[^/.0-9-])([0-9]{1,2})[-/]((?:19|20)[0-9]{2})\b"
_YEAR_MONTH = r"\b((?:19|20)[0-9]{2})[-/]([0-9]{1,2})(?:$|[^/.0-9-])"
_YEAR_ALONE = r"(?:^|in |since |around |about |from |year )((?:19|20)[0-9]{2})$"


def day_first(texts: pl.Series) -> bool | None:
    """Order of day and month that the dates in figures settle among themselves.

    Parameters
    ----------
    texts : series of str

    Returns
    -------
    bool or None
        True: day first; False: month first; None: they leave it open, or contradict one another.
    """
    found = pl.DataFrame({"text": texts}).select(
        first=pl.col("text").str.extract(_FIGURES, 1).cast(pl.Int32, strict=False),
        second=pl.col("text").str.extract(_FIGURES, 2).cast(pl.Int32, strict=False),
    )
    first, second = bool((found["first"] > 12).any()), bool((found["second"] > 12).any())
    return None if first == second else first


def dates(text: pl.Expr, months: Mapping[str, int], order: bool | None) -> dict[str, pl.Expr]:
    """Expressions for the day named in a text, and whether a date is named at all.

    Parameters
    ----------
    text : expression of lower-case texts
    months : mapping of str to int
        Names of months; their first three letters are looked for.
    order : bool or None
        Day first, month first, or not known. Figures that leave no doubt name a day whatever the order.

    Returns
    -------
    dict with day (expression of dates) and is_date (expression of truth values)
    """
    numbers = {name[:3]: number for name, number in months.items()}
    name = rf"\b({'|'.join(numbers)})[a-z]*\.?"
    year = r"['’]?((?:19|20)[0-9]{2}|[0-9]{2})\b"
    spelt = {
        "day month year": (rf"\b([0-9]{{1,2}})(?:st|nd|rd|th)?[ -]*(?:of )?{name}[ ,-]*{year}", (3, 2, 1)),
        "month day year": (rf"{name} *([0-9]{{1,2}})(?:st|nd|rd|th)?[ ,.]+{year}", (3, 1, 2)),
        "month year": (rf"{name}[ ,-]*(?:of )?['’]?((?:19|20)[0-9]{{2}}|[0-9]{{2}})\b", (2, 1, None)),
    }
    days = [_day(text, _YEAR_FIRST, (1, 2, 3), None), _figures(text, order)]
    days += [_day(text, pattern, places, numbers) for pattern, places in spelt.values()]
    days += [_day(text, _MONTH_YEAR, (2, 1, None), None), _day(text, _YEAR_MONTH, (1, 2, None), None)]
    named = [_YEAR_FIRST, _FIGURES, _MONTH_YEAR, _YEAR_MONTH, _YEAR_ALONE, *(p for p, _ in spelt.values())]
    before = (
        "(?:in |since |last |around |about |early |late |mid |sometime |(?:beginning|end|middle|start) of )*"
    )
    month_alone = rf"^{before}{name}(?: [0-9]{{1,2}}(?:st|nd|rd|th)?)?$"
    return {"day": pl.coalesce(days), "is_date": text.str.contains("|".join([*named, month_alone]))}


def _figures(text: pl.Expr, order: bool | None) -> pl.Expr:
    first, second = (text.str.extract(_FIGURES, place).cast(pl.Int32, strict=False) for place in (1, 2))
    by_day, by_month = _day(text, _FIGURES, (3, 2, 1), None), _day(text, _FIGURES, (3, 1, 2), None)
    if order is not None:
        return pl.coalesce(by_day, by_month) if order else pl.coalesce(by_month, by_day)
    return pl.when((first > 12) | (first == second)).then(by_day).when(second > 12).then(by_month)


def _day(
    text: pl.Expr, pattern: str, places: tuple[int, int, int | None], months: Mapping[str, int] | None
) -> pl.Expr:
    year, month = text.str.extract(pattern, places[0]), text.str.extract(pattern, places[1])
    year = pl.when(year.str.len_chars() == 2).then(pl.concat_str(pl.lit("20"), year)).otherwise(year)
    if months is not None:
        month = month.replace_strict(months, default=None, return_dtype=pl.Int32).cast(pl.String)
    day = pl.lit(str(MIDDLE)) if places[2] is None else text.str.extract(pattern, places[2])
    iso = pl.concat_str(year, month.str.zfill(2), day.str.zfill(2), separator="-")
    return iso.str.to_date("%Y-%m-%d", strict=False)
