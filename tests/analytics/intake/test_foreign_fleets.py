"""The same fleet in foreign dialects loads to the same records, and exactly its dirt is set aside."""

import csv
from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import duckdb
import pytest

from analytics.intake import loading
from analytics.intake.loading import load_files
from analytics.intake.mapping import Mapping, TableMapping
from analytics.intake.propose import Proposal, propose
from synthetic_data.dialects import dialects
from synthetic_data.generate import generate
from tests.analytics.intake.conftest import MemoryStore, NoMarts, load_catalogue_once

Foreign = Callable[[str], duckdb.DuckDBPyConnection]
NAMES = sorted(dialects())
REASON_OF = {
    "bad_date": "not_a_date", "closed_before_opened": "closed_before_opened",
    "duplicate_id": "two_rows_one_id", "far_future": "after_today", "long_ago": "too_old",
    "nul": "nul_bytes", "ragged_long": "too_many_fields", "ragged_short": "too_few_fields",
    "unknown_unit": "unknown_unit",
}  # fmt: skip


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return generate(tmp_path_factory.mktemp("fleet"), calls=600, dialects=NAMES)


def truth(folder: Path, name: str) -> list[dict[str, str]]:
    path = folder / "truth" / name
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def confirmed(folder: Path, orders: dict[str, dict[str, str]]) -> Mapping:
    """Return the mapping as a person who knows the sender would complete it."""
    columns: dict[str, dict[str, str]] = defaultdict(dict)
    for row in truth(folder, "headers.csv"):
        columns[row["table"]][row["column"]] = row["header"]
    tables = {name: TableMapping(columns=each, dates=orders.get(name, {})) for name, each in columns.items()}
    return Mapping(sender=folder.name, tables=tables)


@pytest.fixture(scope="module")
def own(fleet: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """Return the fleet as loaded from its canonical files."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(loading, "build_marts", lambda *_, **__: None)
        yield loaded(fleet, tmp_path_factory.mktemp("own"))


@cache
def proposed(file: Path) -> Proposal:
    """What is proposed for a file; each is asked about once."""
    return propose(file, catalogue=load_catalogue_once())


def files_of(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.is_file())


@pytest.fixture(scope="module")
def foreign(fleet: Path, tmp_path_factory: pytest.TempPathFactory) -> Foreign:
    """Return the fleet as loaded from its files in a dialect, dates read as proposed; loaded once."""

    @cache
    def of(name: str) -> duckdb.DuckDBPyConnection:
        orders = {each.table: each.orders for each in map(proposed, files_of(fleet / name))}
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(loading, "build_marts", lambda *_, **__: None)
            return loaded(fleet / name, tmp_path_factory.mktemp("foreign"), confirmed(fleet / name, orders))

    return of


def loaded(folder: Path, scratch: Path, mapping: Mapping | None = None) -> duckdb.DuckDBPyConnection:
    store = MemoryStore(scratch)
    load_files(store, files_of(folder), mapping=mapping, catalogue=load_catalogue_once())  # type: ignore[arg-type]
    return store.cursor()


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_proposed_as_certain_that_is_wrong(fleet: Path, name: str) -> None:
    expected = {(row["file"], row["header"]): row["column"] for row in truth(fleet / name, "headers.csv")}
    for file in {file for file, _ in expected}:
        proposal = proposed(fleet / name / file)
        assert proposal.questions == ()
        for each in proposal.columns:
            if each.certain:
                assert each.column == expected[file, each.header]


@pytest.mark.parametrize("name", NAMES)
def test_a_foreign_fleet_is_the_same_fleet(
    fleet: Path, own: duckdb.DuckDBPyConnection, foreign: Foreign, name: str
) -> None:
    folder = fleet / name
    records = foreign(name)
    found = records.sql(
        "select file_name, line, reason from loads.set_aside join loads.files using (file_id) where rank = 1"
    ).fetchall()
    dirt = [(row["file"], int(row["line"]), REASON_OF[row["kind"]]) for row in truth(folder, "dirt.csv")]
    assert sorted(found) == sorted(dirt)

    day = "dates_only" in name
    moment = (
        "opened_at::date"
        if day
        else "opened_at, closed_at, technician_id, depot, outcome, replace(notes, chr(10), ' / ')"
    )
    of_call = f"select call_id, unit_id, complaint, root_cause, {moment} from records.calls order by all"
    expected = {row[0]: row for row in own.sql(of_call).fetchall()}
    calls = records.sql(of_call).fetchall()
    assert len(calls) > 550
    assert [row for row in calls if row != expected[row[0]]] == []


@pytest.mark.parametrize("name", [name for name in NAMES if "dates_only" not in name])
def test_readings_keep_their_value_in_other_units(
    own: duckdb.DuckDBPyConnection, foreign: Foreign, name: str
) -> None:
    catalogue = load_catalogue_once()
    query = (
        'select coalesce(visit_id, call_id), sequence, "check", reading, reading_unit from records.checks '
        "where reading is not null and reading_unit is not null and reading_unit <> 'parsec'"
    )
    readings = {row[:3]: row[3:] for row in own.sql(query).fetchall()}
    compared = 0
    for *key, reading, unit in foreign(name).sql(query).fetchall():
        if own_reading := readings.get(tuple(key)):
            in_own = catalogue.convert(reading, unit, own_reading[1])
            step = catalogue.convert(1.0, unit, own_reading[1]) - catalogue.convert(0.0, unit, own_reading[1])
            assert in_own == pytest.approx(
                own_reading[0], abs=max(0.6 * abs(step), 0.011 * abs(own_reading[0]))
            )
            compared += 1
    assert compared > 200


def test_a_wrong_order_of_day_and_month_would_be_seen(
    fleet: Path, own: duckdb.DuckDBPyConnection, tmp_path: Path, marts: NoMarts
) -> None:
    wrong = {"calls": {"opened_at": "month first", "closed_at": "month first"}}
    folder = fleet / "semicolon_german_style"
    foreign = loaded(folder, tmp_path / "foreign", confirmed(folder, wrong))
    opened = "select call_id, opened_at from records.calls"
    expected = dict(own.sql(opened).fetchall())
    found = foreign.sql(opened).fetchall()
    assert len(found) < len(expected) / 2
    assert any(moment != expected[call] for call, moment in found)
