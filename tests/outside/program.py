"""Runs the program's own code on a drawn fleet, in memory: tables, marts, facade."""

from datetime import datetime
from functools import cache
from pathlib import Path

import duckdb

from analytics.catalogue import load_catalogue
from analytics.fleet import Fleet
from analytics.marts import build_marts
from analytics.store_files import Generation
from analytics.store_opening import SCHEMA_VERSION, create_tables
from tests.building import parsed_once
from tests.outside.fleet_in_store import put

catalogue = cache(load_catalogue)
ONLY = Generation(1, Path("memory"), SCHEMA_VERSION, datetime(2026, 1, 1))


class InMemory:
    """As much of a store as the facade needs; answers are kept where it says which generation it is."""

    def __init__(self, connection: duckdb.DuckDBPyConnection, generation: Generation | None = None) -> None:
        self._connection, self._generation = connection, generation

    def reader(self):
        return self

    def now(self) -> tuple[duckdb.DuckDBPyConnection, Generation | None]:
        return self._connection.cursor(), self._generation


def built(fleet: dict) -> duckdb.DuckDBPyConnection:
    """The marts of a drawn fleet."""
    connection = duckdb.connect(config={"threads": 1})
    with parsed_once():
        create_tables(connection)
        put(connection, fleet)
        build_marts(connection, catalogue())
    return connection


def built_in_two_steps(fleet: dict) -> duckdb.DuckDBPyConnection:
    """The same, every other call with its visits coming later, when only the units touched are built anew."""
    late = {call["call_id"] for call in fleet["calls"][1::2]}
    connection = duckdb.connect(config={"threads": 1})
    create_tables(connection)
    put(connection, fleet)
    for table in ("calls", "visits"):
        connection.execute(
            f"create temp table held_back_{table} as from records.{table} where call_id in ?", [list(late)]
        )
        connection.execute(f"delete from records.{table} where call_id in ?", [list(late)])
    build_marts(connection, catalogue())
    for table in ("calls", "visits"):
        connection.execute(f"insert into records.{table} from held_back_{table}")
    connection.execute("create temp table touched_units as select distinct unit_id from held_back_calls")
    build_marts(connection, catalogue(), "touched_units")
    return connection


def facade(connection: duckdb.DuckDBPyConnection) -> Fleet:
    """The facade on those marts; it works out every answer anew."""
    return Fleet(InMemory(connection))


def facade_that_keeps(connection: duckdb.DuckDBPyConnection) -> Fleet:
    """The same, and it keeps what it answered: quicker, as long as no statement is changed meanwhile."""
    return Fleet(InMemory(connection, ONLY))


def rows(connection: duckdb.DuckDBPyConnection, table: str) -> list[dict]:
    """A table as a list of dicts."""
    return connection.sql(f"from {table}").pl().to_dicts()
