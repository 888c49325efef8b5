"""What a chart of months is said to show."""

import polars as pl

from analytics.statistics.control import one_sided_runs
from dashboard.components.trend import month_finding
from tests.dashboard.fake_frames import month_frame


def months_with(rates: list[float]) -> pl.DataFrame:
    """Months that can all be judged, with these rates about a mean of 0.1."""
    frame = month_frame(len(rates), strange=0, young=0)
    in_run = pl.Series(one_sided_runs(rates, 0.1))
    return frame.with_columns(rate=pl.Series(rates), mean=pl.lit(0.1), outside=pl.lit(False), in_run=in_run)


def test_a_run_is_said_with_its_ends_and_its_side() -> None:
    quiet = [0.11, 0.09] * 3
    said = month_finding(months_with(quiet + [0.12] * 9 + [0.09]))
    assert said == "9 months in a row, Jul 2024 to Mar 2025, had more than the average"
    twice = month_finding(months_with([0.08] * 10 + [0.12] * 9))
    assert twice == (
        "10 months in a row, Jan 2024 to Oct 2024, had fewer than the average; "
        "9 months in a row, Nov 2024 to Jul 2025, had more than the average"
    )


def test_eight_months_in_a_row_are_no_finding() -> None:
    quiet = [0.11, 0.09] * 3
    assert month_finding(months_with(quiet + [0.12] * 8 + [0.09])) == (
        "No month differs from the average by more than chance"
    )
