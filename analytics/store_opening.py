"""Opening a generation, to read or to write, and making the tables of a new one."""

import os
from importlib import resources
from pathlib import Path

import duckdb

from analytics import queries
from analytics.errors import StoreProblem
from analytics.store_files import Generation
from analytics.store_problems import damaged, store_problem

SCHEMA_VERSION = 1
"""Version of the tables in sql/schema and of the marts; counts up with every change to them."""

Settings = dict[str, str | bool | int | float | list[str]]


def reading_settings(folder: Path) -> Settings:
    """Return the DuckDB settings of a reader: no files but its own, and nothing can be set anew."""
    return {
        "enable_external_access": False,
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
        "memory_limit": "800MB",  # what does not fit goes to the folder below, as in a load
        "allocator_background_threads": True,  # memory of a large question goes back to the system
        "temp_directory": str(folder / f"reader-{os.getpid()}.tmp"),
        "lock_configuration": True,
    }


def open_for_reading(generation: Generation) -> duckdb.DuckDBPyConnection:
    """Open a generation read-only.

    Raises
    ------
    StoreProblem
        When the file is damaged, or of another version than this program's tables.
    """
    folder = generation.path.parent
    check_version(generation)
    try:
        return duckdb.connect(generation.path, read_only=True, config=reading_settings(folder))
    except duckdb.Error as error:
        if not generation.path.exists():
            raise FileNotFoundError(generation.path) from None
        raise damaged(generation.path, error) from None


def check_version(generation: Generation) -> None:
    """Raise StoreProblem, with the way out, when a generation is of another version than this program's."""
    if generation.schema_version == SCHEMA_VERSION:
        return
    if generation.schema_version > SCHEMA_VERSION:
        way_out = "Update this program to the one that wrote it."
    else:
        way_out = (
            "Load your files anew into another folder (`service-calls --data OTHER load FILES…`), "
            "or open this one with the program that wrote it."
        )
    raise StoreProblem(
        f"The store in {generation.path.parent} is of version {generation.schema_version}, and this program "
        f"works with version {SCHEMA_VERSION}. {way_out}"
    )


def open_for_writing(path: Path, scratch: Path, base: Generation | None) -> duckdb.DuckDBPyConnection:
    """Open a draft read-write.

    Parameters
    ----------
    path : Path
        The copy of `base`, or a file that does not exist yet.
    scratch : Path
        Folder for what does not fit into memory.
    base : Generation or None
        What the draft was copied from; blamed when the copy does not open.
    """
    settings: Settings = {
        "threads": 2,
        "memory_limit": "1200MB",
        "temp_directory": str(scratch / "spill"),
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
    }
    try:
        return duckdb.connect(path, config=settings)
    except duckdb.Error as error:
        if base is None or store_problem(error, path.parent):
            raise
        raise damaged(base.path, error) from error


def create_tables(connection: duckdb.DuckDBPyConnection) -> None:
    """Create every table of sql/schema in an empty database, and stamp it with the version."""
    folder = resources.files("sql").joinpath("schema")
    for name in sorted(
        file.name.removesuffix(".sql") for file in folder.iterdir() if file.name.endswith(".sql")
    ):
        queries.run(connection, f"schema/{name}")
    queries.run(connection, "store/stamp", {"schema_version": SCHEMA_VERSION})


def is_whole(path: Path) -> bool:
    """Say whether the file opens as a generation of this program's version."""
    generation = Generation(0, path, SCHEMA_VERSION, made_at=None)  # type: ignore[arg-type]
    try:
        with open_for_reading(generation) as connection:
            return queries.frame(connection, "store/schema_version").rows() == [(SCHEMA_VERSION,)]
    except (StoreProblem, duckdb.Error, FileNotFoundError):
        return False
