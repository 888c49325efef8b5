"""Runs the program's own code on a drawn fleet, in memory: tables, marts, facade."""

from functools import cache

import duckdb

from analytics.catalogue import load_catalogue
from analytics.fleet import Fleet
from analytics.marts import build_marts
from analytics.store_opening import create_tables
from tests.outside.fleet_in_store import put

catalogue = cache(load_catalogue)


class InMemory:
    """As much of a store as the facade needs."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection

    def reader(self):
        return self

    def cursor(self) -> duckdb.DuckDBPyConnection:
        return self._connection.cursor()


def built(fleet: dict) -> duckdb.DuckDBPyConnection:
    """The marts of a drawn fleet."""
    connection = duckdb.connect(config={"threads": 1})
    create_tables(connection)
    put(connection, fleet)
    build_marts(connection, catalogue())
    return connection


def facade(connection: duckdb.DuckDBPyConnection) -> Fleet:
    """The facade on those marts."""
    return Fleet(InMemory(connection))


def rows(connection: duckdb.DuckDBPyConnection, table: str) -> list[dict]:
    """A table as a list of dicts."""
    return connection.sql(f"from {table}").pl().to_dicts()
