"""Stand-ins for the course of the rate: a rise in March 2026, watched and dated; a month estimated."""

from datetime import date, datetime, timedelta

import polars as pl

from analytics.filters import Filters
from analytics.questions.changes import PATH_SCHEMA, SIGNALS_SCHEMA, DatedChange, OverTime, Watched
from analytics.questions.over_time import chosen_group
from tests.dashboard.fake_frames import month_frame, rate

ESTIMATES = {"estimate": 0.08, "estimate_low": 0.05, "estimate_high": 0.12}


def followed_months(months: int = 30) -> pl.DataFrame:
    """Months of which the last but one is estimated and the last is not yet known."""
    at = pl.int_range(pl.len())
    estimated = [
        pl.when(at == months - 2).then(pl.lit(value)).alias(name) for name, value in ESTIMATES.items()
    ]
    followed = pl.when(at >= months - 2).then(pl.lit(160)).alias("followed")
    return month_frame(months).with_columns(*estimated, followed)


def week_frame(weeks: int = 130) -> pl.DataFrame:
    """Weeks from Monday, 1 January 2024, with the figures of months."""
    mondays = [date(2024, 1, 1) + timedelta(weeks=n) for n in range(weeks)]
    frame = pl.concat([month_frame(30, young=0)] * (weeks // 30 + 1)).head(weeks)
    return frame.with_columns(pl.Series("month", mondays)).rename({"month": "week"})


def watched(signal: bool = True) -> Watched:
    """Two hundred days, the sum of more returns passing its limit on the hundredth."""
    days = [datetime(2026, 1, 1, 12) + timedelta(days=n) for n in range(200)]
    more = [n / 20 if signal else 0.0 for n in range(200)]
    path = pl.DataFrame(
        {"closed_at": days, "calls": range(1, 201), "more": more, "fewer": [0.5] * 200}, schema=PATH_SCHEMA
    )
    signals = [("more", date(2026, 1, 2), date(2026, 4, 11), None, 9.95)] if signal else []
    return Watched(200, 31, 16.2, path, 5.0, 4.8, pl.DataFrame(signals, schema=SIGNALS_SCHEMA, orient="row"))


def change(p: float = 0.004) -> DatedChange:
    """A rise dated to 28 March 2026, from 7.1 to 11.0%."""
    return DatedChange(
        date(2026, 3, 28), date(2026, 3, 3), date(2026, 4, 20), rate(71, 1000), rate(55, 500), 0.97, 1.6, p
    )


class FakeTime:
    """The methods of `FleetTime` over invented numbers."""

    total: int

    def rates_over_time(self, filters: Filters, period: str = "month") -> pl.DataFrame:
        frame = followed_months() if period == "month" else week_frame()
        return frame if self.total else frame.clear()

    def over_time(self, filters: Filters) -> OverTime:
        group = chosen_group(filters)
        few = self.total < 20
        return OverTime(
            group,
            rate(self.total * 8 // 100, self.total),
            date(2024, 1, 4),
            date(2026, 6, 1),
            None if group else rate(71, 1000),
            None if few else watched(),
            None if few else change(),
        )
