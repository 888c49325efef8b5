"""Is it getting better? The last six months that can be judged, against the six before."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.rates import Rate
from analytics.statistics.difference import newcombe
from analytics.statistics.intervals import wilson

MONTHS = 6


@dataclass(frozen=True)
class HalfYears:
    """Two rates, one after the other, and how far they lie apart.

    Parameters
    ----------
    now, before : Rate
        Callback rate over the last six months in which every call is old enough to judge, and the six before.
    now_from, before_from : date
        First day of the first month of each.
    difference, low, high : float
        now - before, and its 95% interval.
    """

    now: Rate
    before: Rate
    now_from: date
    before_from: date
    difference: float
    low: float
    high: float

    @property
    def beyond_chance(self) -> bool:
        """Whether the interval of the difference leaves out zero."""
        return self.low > 0 or self.high < 0


def half_years(months: pl.DataFrame) -> HalfYears | None:
    """Compare the last two half-years of a frame of months.

    Parameters
    ----------
    months : DataFrame
        As from `Fleet.by_month`.

    Returns
    -------
    HalfYears or None
        None where fewer than twelve months in a row can be judged.

    Notes
    -----
    Interval of the difference: `analytics.statistics.difference`.
    """
    judged = months.filter((pl.col("inside_window") == 0) & (pl.col("denominator") > 0)).tail(2 * MONTHS)
    if judged.height < 2 * MONTHS or not _in_a_row(judged["month"]):
        return None
    earlier, later = judged.head(MONTHS), judged.tail(MONTHS)
    now, before = _rate(later), _rate(earlier)
    low, high = newcombe((now.numerator, now.denominator), (before.numerator, before.denominator))
    difference = now.numerator / now.denominator - before.numerator / before.denominator
    return HalfYears(now, before, later["month"][0], earlier["month"][0], difference, low, high)


def _in_a_row(firsts: pl.Series) -> bool:
    numbers = firsts.dt.year() * 12 + firsts.dt.month()
    return int(numbers[-1] - numbers[0]) == firsts.len() - 1


def _rate(months: pl.DataFrame) -> Rate:
    numerator, denominator = int(months["numerator"].sum()), int(months["denominator"].sum())
    low, high = wilson([numerator], [denominator])
    return Rate(
        numerator, denominator, numerator / denominator, float(low[0]), float(high[0]), name="callback_rate"
    )
