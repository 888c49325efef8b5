"""Files written in the test, loaded into a store of its own; marts are tested elsewhere and left out here."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import duckdb
import pytest

from analytics.catalogue import Catalogue, load_catalogue
from analytics.intake import loading
from analytics.intake.loading import load_files
from analytics.intake.mapping import Mapping
from analytics.intake.report import FileReport
from analytics.store import Draft
from analytics.store_opening import create_tables

TODAY = date(2026, 12, 31)
Load = Callable[..., FileReport]
Rows = Callable[[str], list[tuple[Any, ...]]]


class NoMarts:
    """Stands in for the build of the marts, and notes what it was asked to build."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    def build_marts(
        self, connection: Any, catalogue: Any, touched: str, progress: Callable[[str, float], None]
    ) -> None:
        self.asked.append(touched)
        progress("marts", 0.0)


@cache
def load_catalogue_once() -> Catalogue:
    return load_catalogue()


@pytest.fixture
def catalogue() -> Catalogue:
    return load_catalogue_once()


@pytest.fixture
def marts(monkeypatch: pytest.MonkeyPatch) -> NoMarts:
    stand_in = NoMarts()
    monkeypatch.setattr(loading, "build_marts", lambda *args, **named: stand_in.build_marts(*args, **named))
    return stand_in


class MemoryStore:
    """A store without files, for loads that succeed: nothing is taken back when one fails."""

    def __init__(self, scratch: Path) -> None:
        self._scratch = scratch
        self.folder = scratch.parent
        self._connection = duckdb.connect(config={"threads": 1})
        self._loads = 0
        create_tables(self._connection)

    def exists(self) -> bool:
        return self._loads > 0

    def reader(self) -> "MemoryStore":
        return self

    def cursor(self) -> duckdb.DuckDBPyConnection:
        return self._connection.cursor()

    @contextmanager
    def writing(self, **_: Any) -> Iterator[Draft]:
        self._scratch.mkdir(exist_ok=True)
        draft = Draft(self._connection.cursor(), self._loads + 1, self._scratch, first=not self._loads)
        yield draft
        self._loads += not draft.abandoned


@pytest.fixture
def store(tmp_path: Path, marts: NoMarts) -> MemoryStore:
    return MemoryStore(tmp_path / "scratch")


@pytest.fixture
def load(store: MemoryStore, tmp_path: Path, catalogue: Catalogue) -> Load:
    """Write a file and load it; the mapping can be given as TOML."""

    def write_and_load(content: str | bytes, name: str = "calls.csv", **options: Any) -> FileReport:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        options.setdefault("today", TODAY)
        if isinstance(options.get("mapping"), str):
            options["mapping"] = Mapping.from_toml(options["mapping"])
        report = load_files(store, [path], catalogue=catalogue, **options)  # type: ignore[arg-type]
        return report.files[0]

    return write_and_load


@pytest.fixture
def rows(store: MemoryStore) -> Rows:
    """Ask the current generation."""
    return lambda query: store.reader().cursor().sql(query).fetchall()


def calls(*lines: str, header: str = "call_id,unit_id,opened_at,complaint") -> str:
    """Text of a small file of calls."""
    return "\n".join([header, *lines]) + "\n"
