"""A clock that was set back: what is new would look older than what is known, and is not loaded then."""

from datetime import datetime, timedelta

import duckdb

from analytics import queries
from analytics.errors import StoreProblem

ALLOWED_BACK = timedelta(hours=2)
"""Moments are local: once a year the hour is repeated, and machines that share a folder differ a little."""


def check(connection: duckdb.DuckDBPyConnection, now: datetime) -> None:
    """Raise StoreProblem where the latest load began well after what the clock shows now.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        On the store, before anything of this load is in it.
    now : datetime
        Local, without zone.
    """
    latest = queries.frame(connection, "staging/latest_load")["started_at"][0]
    if latest is None or now >= latest - ALLOWED_BACK:
        return
    raise StoreProblem(
        f"By the clock of this machine it is {now:%Y-%m-%d %H:%M}, but the latest load into this store began "
        f"{latest:%Y-%m-%d %H:%M}. What is new would be taken for older than what is known, and recent dates "
        f"for dates to come. Nothing was changed. Set the clock right and load again. If it was ahead at "
        f"that load, undo it with `service-calls go-back`, or load your files anew into another folder."
    )
