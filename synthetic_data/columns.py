"""Columns of numbers turned into what stands in a file: identifiers, times and dates."""

import numpy as np
import polars as pl

from synthetic_data.calendar import MINUTES
from synthetic_data.streams import Bools, Floats, Ints


def numbered(prefix: str, numbers: Ints, width: int, blank: Bools | None = None) -> pl.Series:
    """Identifiers such as U000123.

    Parameters
    ----------
    width : int
        Least number of digits.
    blank : Bools, optional
        Where the identifier is left out.
    """
    name = pl.Series("number", numbers.astype(np.int64))
    text = pl.concat_str(pl.lit(prefix), pl.col("number").cast(pl.String).str.zfill(width))
    keep = pl.lit(True) if blank is None else pl.lit(pl.Series(~blank))
    return pl.DataFrame([name]).select(pl.when(keep).then(text).alias("id")).to_series()


def days_as_times(days: Floats) -> pl.Series:
    """Day numbers as times to the minute; nan as null."""
    known = np.isfinite(days)
    minutes = np.where(known, np.round(np.where(known, days, 0) * MINUTES), 0).astype(np.int64)
    times = (pl.Series(minutes) * 60_000).cast(pl.Datetime("ms"))
    return pl.select(pl.when(pl.lit(pl.Series(known))).then(pl.lit(times)).alias("time")).to_series()


def days_as_dates(days: Floats) -> pl.Series:
    """Day numbers as dates; nan as null."""
    known = np.isfinite(days)
    whole = pl.Series(np.floor(np.where(known, days, 0)).astype(np.int32)).cast(pl.Date)
    return pl.select(pl.when(pl.lit(pl.Series(known))).then(pl.lit(whole)).alias("date")).to_series()
