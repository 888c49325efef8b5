"""What SQLite says about the file of decisions, as an error that says what to do next."""

import sqlite3
from pathlib import Path

from analytics.errors import StoreProblem

_WORDS = (
    (("locked", "busy"), "is being written by somebody else", "Nothing was changed; try again in a moment."),
    (
        ("readonly", "read-only", "unable to open"),
        "can not be opened or written",
        "To review needs the right to write in this folder; to look at the figures does not.",
    ),
    (
        ("full",),
        "could not be written: the disk is full",
        "Nothing was changed. Make room, then decide again.",
    ),
    (
        ("not a database", "malformed", "no such table", "no such column"),
        "is damaged, or is no file of decisions",
        "The figures do not depend on it. Put back a backup of it, or move it away to begin anew.",
    ),
)


def decision_problem(error: sqlite3.Error, path: Path) -> StoreProblem:
    """Return the error to raise; what SQLite said stands in it."""
    said = str(error).lower()
    for signs, what, next_step in _WORDS:
        if any(sign in said for sign in signs):
            return StoreProblem(f"{path} {what} ({error}). {next_step}")
    return StoreProblem(f"{path} could not be used ({error}). The figures do not depend on it.")
