"""What is written down, by depot and by technician; what is not written down can not be compared."""

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.labelling import NOT_RECORDED
from analytics.questions.selecting import Selection

RECORDED = {
    "cause": "cause",
    "outcome": "outcome",
    "visit": "visit",
    "check": "checks",
    "reading": "readings",
    "filter_date": "filter date",
}
RECORDING_GROUPINGS = ("depot", "technician")


def recording(cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str) -> pl.DataFrame:
    """Answer `Fleet.recording` for the calls chosen."""
    if by not in RECORDING_GROUPINGS:
        raise BadQuestion(
            f"Recording can not be shown by '{by}'. Choose one of {', '.join(RECORDING_GROUPINGS)}."
        )
    rows = queries.frame(cursor, "metrics/recording", chosen.values | {"by": by})
    columns: list[pl.Expr] = [
        pl.col("group_code").alias("group"),
        pl.col("group_code").fill_null(NOT_RECORDED).alias("label"),
        pl.col("calls"),
    ]
    for name in RECORDED:
        columns += [
            pl.col(f"{name}_calls"),
            (pl.col(f"{name}_calls") / pl.col("calls")).alias(f"{name}_share"),
        ]
    return rows.select(columns)
