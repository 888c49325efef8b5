"""Builds the marts: what the records mean, coded and linked, for all units or for those a load touched."""

from collections.abc import Callable
from typing import Literal, Protocol

import duckdb
import polars as pl

from analytics import queries

Touched = Literal["all", "touched_units"]

_STEPS = (
    "symptom_sets",
    "answer_texts",
    "places",
    "coded_units",
    "coded_calls",
    "inherited_symptoms",
    "return_trips",
    "visits",
    "parts",
    "call_facts",
    "callbacks",
    "takeovers",
    "asked",
    "linked_calls",
    "returns",
    "episode_roots",
    "episodes",
    "filter_ages",
    "calls",
)
"""Statements of sql/marts in the order in which they build on each other."""


MOST_ROUNDS = 64
"""More than any string of returns needs; without an end, a ring of returns would never be left."""


class HasFrames(Protocol):
    """A catalogue, as far as the marts need one."""

    def frames(self) -> dict[str, pl.DataFrame]:
        """Return the tables of schema `catalogue` by name."""


def build_marts(
    connection: duckdb.DuckDBPyConnection,
    catalogue: HasFrames,
    touched: Touched = "all",
    *,
    progress: Callable[[str, float], None] | None = None,
) -> None:
    """Build the marts anew from records.* and texts.codings.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        On a draft of the store, read-write. Temporary tables are left behind; the draft closes with them.
    catalogue : Catalogue
        Written to schema `catalogue` before anything is coded with it.
    touched : str
        "all", or "touched_units": only the units in the temporary table touched_units(unit_id), which is to
        hold every unit any of whose rows was added, changed or withdrawn, before and after the change.
    progress : callable, optional
        Called with "marts" and the share done.

    Notes
    -----
    Everything but the few tables made anew each time holds whole units, so that building a few units gives
    what building all does.
    """
    report = progress or (lambda stage, share: None)
    _write_catalogue(connection, catalogue)
    queries.run(connection, "marts/scope_all" if touched == "all" else "marts/scope_touched")
    for done, step in enumerate(_STEPS):
        report("marts", done / len(_STEPS))
        queries.run(connection, f"marts/{step}")
        if step == "episode_roots":
            _follow_to_first_calls(connection)
    for whole in ("observation_ends", "choices", "unrecognised"):
        queries.run(connection, f"marts/{whole}")
    report("marts", 1.0)


def _write_catalogue(connection: duckdb.DuckDBPyConnection, catalogue: HasFrames) -> None:
    frames = catalogue.frames()
    for table, rows in frames.items():
        connection.register(f"new_{table}", rows)
    queries.run(connection, "marts/catalogue")
    for table in frames:
        connection.unregister(f"new_{table}")


def _follow_to_first_calls(connection: duckdb.DuckDBPyConnection) -> None:
    """Each round doubles how far back a return points, so that a string of n calls takes log2(n) rounds."""
    for _ in range(MOST_ROUNDS):
        if not queries.frame(connection, "marts/episode_roots_open").item():
            return
        queries.run(connection, "marts/episode_roots_step")
    raise RuntimeError("Returns lead in a ring: a call was closed before it was opened.")
