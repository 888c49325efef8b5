"""The lines of the audit as they are written; see `analytics.audit`."""

import sqlite3
from datetime import UTC, datetime

from analytics import queries

EVENTS = (
    "signed in",
    "sign-in refused",
    "signed out",
    "account added",
    "role changed",
    "password changed",
    "account removed",
    "loaded",
    "went back",
    "settled",
    "decided",
    "forgot",
    "setting changed",
)
"""Kinds of events; what is not one of them can not be written."""

MOST_CHARACTERS = 300


def write(connection: sqlite3.Connection, at: datetime, who: str, what: str, about: str = "") -> None:
    """Add one event within a transaction of somebody else.

    Raises
    ------
    ValueError
        When there is no such kind of event.
    """
    if what not in EVENTS:
        raise ValueError(f"{what!r} is no kind of event")
    values = {
        "at": at.astimezone(UTC).replace(tzinfo=None).isoformat(sep=" ", timespec="seconds"),
        "who": _one_line(who),
        "what": what,
        "about": _one_line(about),
    }
    connection.execute(queries.statement("access/add_audit"), values)


def make(connection: sqlite3.Connection) -> None:
    """Make the tables of accounts, sessions and events where they are missing."""
    for name in ("make_users", "make_sessions", "make_attempts", "make_audit"):
        connection.execute(queries.statement(f"access/{name}"))


def is_made(connection: sqlite3.Connection) -> bool:
    """Say whether the tables of accounts, sessions and events are there."""
    return connection.execute(queries.statement("access/is_made")).fetchone()[0] > 0


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:MOST_CHARACTERS]
