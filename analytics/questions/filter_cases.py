"""What failures alone say about the age of filters, and what was told against what was recorded."""

from dataclasses import dataclass
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.statistics.incidence import Trend, trend_of_shares
from analytics.statistics.intervals import wilson

CASE_BANDS = ("0-3", "3-6", "6-9", "9-12", "12-18", "18+")
_MIDDLES_MONTHS = (1.5, 4.5, 7.5, 10.5, 15.0, 24.0)
ANSWERS = ("given", "never", "dont_know", "not_recognised", "blank")
TOLD = ("within_30_days", "later", "earlier")


@dataclass(frozen=True)
class CaseOnly:
    """Failures by the age of the filter, without the time at risk.

    Parameters
    ----------
    bands : DataFrame
        By band of the age when the trouble began, told or recorded: columns band, failures, share, share_low,
        share_high (of failures with a known age), known (with a final cause), flow_linked, linked,
        linked_low, linked_high (share of filter-linked among known).
    trend : Trend or None
        Of the share of filter-linked failures over the bands.
    unknown, not_applicable : int
        Failures whose filter age is not known; without a filter, with a bypass or reverse osmosis.
    answers : DataFrame
        By what was answered to when the filter was last changed: columns answer (given, never, dont_know,
        not_recognised, blank), failures, known, flow_linked, linked, linked_low, linked_high.
    told : DataFrame
        Told against recorded, where both are known: columns told (within_30_days, later, earlier), failures,
        share, share_low, share_high, median_days (between the two).
    """

    bands: pl.DataFrame
    trend: Trend | None
    unknown: int
    not_applicable: int
    answers: pl.DataFrame
    told: pl.DataFrame

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "bands": self.bands.to_dicts(),
            "trend": vars(self.trend) if self.trend else None,
            "unknown": self.unknown,
            "not_applicable": self.not_applicable,
            "answers": self.answers.to_dicts(),
            "told": self.told.to_dicts(),
        }


def case_only(cursor: duckdb.DuckDBPyConnection) -> CaseOnly:
    """Read what failures alone say."""
    return from_rows(queries.frame(cursor, "metrics/filter_age_cases"))


def from_rows(rows: pl.DataFrame) -> CaseOnly:
    """Shape the answer from the rows of metrics/filter_age_cases."""
    began = _of(rows, "began", ("unknown", "not_applicable", *CASE_BANDS))
    counts = dict(began.select("what", "failures").iter_rows())
    bands = _shared(_linked(began.filter(pl.col("what").is_in(CASE_BANDS)))).rename({"what": "band"})
    answers = _linked(_of(rows, "answer", ANSWERS)).rename({"what": "answer"})
    told = _shared(_of(rows, "told", TOLD)).rename({"what": "told"})
    return CaseOnly(
        bands=bands.drop("median_days"),
        trend=trend_of_shares(bands["flow_linked"], bands["known"], _MIDDLES_MONTHS),
        unknown=counts["unknown"],
        not_applicable=counts["not_applicable"],
        answers=answers.drop("median_days"),
        told=told.select("told", "failures", "share", "share_low", "share_high", "median_days"),
    )


def _of(rows: pl.DataFrame, measure: str, names: tuple[str, ...]) -> pl.DataFrame:
    """Return one row a name, in this order; what did not occur is 0."""
    found = rows.filter(pl.col("measure") == measure).drop("measure").rename({"number": "failures"})
    return (
        pl.DataFrame({"what": names})
        .join(found, on="what", how="left", maintain_order="left")
        .with_columns(pl.col("failures", "flow_linked", "known").fill_null(0))
    )


def _linked(rows: pl.DataFrame) -> pl.DataFrame:
    return _with_share(rows, "linked", rows["flow_linked"], rows["known"])


def _shared(rows: pl.DataFrame) -> pl.DataFrame:
    whole = pl.Series([int(rows["failures"].sum())] * rows.height, dtype=pl.Int64)
    return _with_share(rows, "share", rows["failures"], whole)


def _with_share(rows: pl.DataFrame, name: str, counts: pl.Series, totals: pl.Series) -> pl.DataFrame:
    low, high = wilson(counts.to_list(), totals.to_list())
    return rows.with_columns(
        pl.Series(column, values, dtype=pl.Float64, nan_to_null=True)
        for column, values in (
            (name, (counts / totals).to_list()),
            (f"{name}_low", low),
            (f"{name}_high", high),
        )
    ).with_columns(pl.col(name, f"{name}_low", f"{name}_high").fill_nan(None))
