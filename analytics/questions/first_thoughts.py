"""What was thought first of every string of returns, whatever is chosen: read once a generation."""

from dataclasses import dataclass

import duckdb
import polars as pl

from analytics import queries

STANDINGS = ("right", "went_deeper", "different", "none_found")
"""How a first thought stands to what it turned out to be, as in `marts.diagnoses`."""
TOOK = ("returns", "visits", "minutes", "untimed", "part_money", "unpriced")
"""What followed the first visit, in the order of `cost_sums.TOOK`; parts: those that were not the cause."""


@dataclass(frozen=True)
class FirstThoughts:
    """First thoughts, and what followed them.

    Parameters
    ----------
    strings : pl.DataFrame
        One row a string of returns, in order of row_id, as from sql/metrics/first_thoughts.sql, with
        part_money, unpriced (parts without a cost) and parts: those fitted that were not the cause;
        parts_unknown: those that are not recognised.
    parts : pl.DataFrame
        As from sql/metrics/parts_not_the_cause.sql, those recognised.
    """

    strings: pl.DataFrame
    parts: pl.DataFrame


def first_thoughts(cursor: duckdb.DuckDBPyConnection) -> FirstThoughts:
    """Read them."""
    strings = queries.frame(cursor, "metrics/first_thoughts")
    parts = queries.frame(cursor, "metrics/parts_not_the_cause")
    told = pl.col("part").is_not_null()
    fitted = parts.group_by("row_id").agg(
        (pl.col("cost") * told).sum().alias("part_money"),
        pl.col("quantity").filter(told & pl.col("cost").is_null()).sum().alias("unpriced"),
        pl.col("quantity").filter(told).sum().alias("parts"),
        pl.col("quantity").filter(~told).sum().alias("parts_unknown"),
    )
    together = strings.join(fitted, on="row_id", how="left", maintain_order="left").with_columns(
        pl.col("part_money", "unpriced", "parts", "parts_unknown").fill_null(0.0),
        pl.col("standing").cast(pl.Enum(STANDINGS)),
        pl.col("first_thought", "final_cause", "product_family", "filter_age_band").cast(pl.Categorical),
    )
    return FirstThoughts(together, parts.filter(told))
