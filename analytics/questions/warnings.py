"""Warnings: what in the records bends the figures of the calls chosen."""

import duckdb

from analytics.filters import Filters
from analytics.questions.answers import Warning
from analytics.questions.selecting import Selection


def warnings(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, filters: Filters, by: str | None = None
) -> list[Warning]:
    """Answer `Fleet.warnings`."""
    return []
