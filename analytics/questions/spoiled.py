"""What spoils first-time fix."""

import duckdb
import polars as pl

from analytics import queries
from analytics.filters import Filters
from analytics.questions.selecting import selection

REASONS = {
    "came_back": "came back",
    "part": "second trip for a part",
    "diagnosis": "wrong first diagnosis",
    "no_access": "nobody home",
    "other": "another visit, reason not recorded",
}


def spoiled(cursor: duckdb.DuckDBPyConnection, filters: Filters) -> pl.DataFrame:
    """Answer `Fleet.spoiled`."""
    rows = queries.frame(cursor, "metrics/spoiled", selection(cursor, filters).values)
    return rows.select(
        "reason",
        pl.col("reason").replace_strict(REASONS, return_dtype=pl.String).alias("label"),
        pl.col("calls").fill_null(0).cast(pl.Int64),
        pl.col("calls_any").fill_null(0).cast(pl.Int64),
        (pl.lit("spoiled_") + pl.col("reason")).alias("subset"),
    )
