"""A coded copy holds no technician's name, everything else as it was, and goes where its generation goes."""

import re
import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics import coded_copy, fleet_shown, queries
from analytics.accounts import Accounts
from analytics.coded_copy import make_coded_copy
from analytics.coded_files import coded_copies, coded_path
from analytics.errors import NotReady, StoreProblem
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.forgetting import forget
from analytics.intake.loading import load_files
from analytics.preparing import Told, answers_ahead
from analytics.store import Store
from analytics.store_backup import back_up
from analytics.technician_codes import TechnicianCodes, mention
from tests.analytics.named_store import build, every_name, found
from tests.building import built_once

AS_THEY_ARE = re.compile(
    r"catalogue\..*|store\..*|replaced\..*"  # ours, or left out
    r"|.*\.(call_id|unit_id|visit_id|household_id|episode_id|last_call_id|charged_call_id|return_call_id|"
    r"return_trip_of)"  # numbers of something else than a technician
    r"|marts\.calls\.(closed_month|job_kind|standing|outcome|cause|first_diagnosis|supply|payer|"
    r"filter_age_band|filter_age_began_band|follow_up)|marts\.episodes\.(final_cause|course)"
    r"|marts\.returns\.(match|return_cause)|marts\.visits\.result|marts\.(choices|unrecognised)\.field"
    r"|marts\.(symptom|part)_sets\..*|texts\.codings\.(field|codes|how|number_unit|implied_.*)"
    r"|marts\.observation_ends\..*ends_from"  # codes of the catalogue or of ours
    r"|loads\.(files|taken_back)\.(sha256|reading_hash|table_name|extracted_from|encoding|separator|header)"
    r"|loads\.loads\.program_version|loads\.set_aside\.(reason|column_name)"  # about a file, not of its rows
)
"""Columns of text that a coded copy takes over; whoever adds another column says here why, or codes it."""


WHOSE = {"technician", "technician_id", "helper_id", "diagnosis_technician", "return_technician"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built_once(tmp_path_factory, "named", build)


@pytest.fixture
def store(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setattr(
        fleet_shown, "answers_ahead", lambda folder, also, in_codes: iter(())
    )  # takes seconds
    shutil.copytree(made / "store", tmp_path / "store")
    return Store(tmp_path / "store")


def coded(store: Store) -> Path:
    current = store.current()
    assert current is not None
    return make_coded_copy(store.folder, current)


def cells(path: Path) -> dict[str, pl.DataFrame]:
    """Return every table of a generation, since a database compresses what it holds."""
    with duckdb.connect(path, read_only=True) as connection:
        names = queries.frame(connection, "store/tables")["name"]
        return {name: connection.table(name).pl() for name in names}


def check_no_name(path: Path, names: list[str]) -> None:
    content = path.read_bytes()
    assert [name for name in names if name.encode() in content] == []
    for table, frame in cells(path).items():
        assert (table, found(names, frame.write_json())) == (table, [])


def test_no_name_is_in_a_coded_copy(store: Store) -> None:
    names = every_name(store)
    assert len(names) >= 9
    with pytest.raises(AssertionError):
        check_no_name(store.current().path, names)  # type: ignore[union-attr]
    check_no_name(coded(store), names)


BREAKS = [
    r"coded_text\(notes\) as (notes)",
    r"coded_text\(complaint\) as (complaint)",
    r"coded_text\(depot\) as (depot)",
    r"\(select coded from coded_helpers where coded_helpers.written = visits.helpers\) as (helpers)",
    r"\(select code from coded_names where coded_names.technician = visits.helper_id\) as (helper_id)",
    r"\(select code from coded_names where coded_names.technician = returns.return_technician\) as (\w+)",
    r"\[\] as (fields)",
    r"coded_text\(text\) as (text)",
]


@pytest.mark.parametrize("part", BREAKS)
def test_a_column_left_as_it_is_is_caught(store: Store, part: str, monkeypatch: pytest.MonkeyPatch) -> None:
    original = queries.statement
    assert re.search(part, original("coding/copy"))
    monkeypatch.setattr(queries, "statement", lambda name: re.sub(part, r"\1 as \1", original(name)))
    with pytest.raises(AssertionError):
        check_no_name(coded(store), every_name(store))


def check_every_column_of_text(made: Path, folder: Path) -> None:
    """Put a name into every column of text that is not listed above, and look for it in the copy."""
    planted, name = folder / "planted.duckdb", "ROWANQX003"
    shutil.copyfile(Store(made / "store").current().path, planted)  # type: ignore[union-attr]
    with duckdb.connect(planted) as connection:
        columns = connection.execute(
            "select schema_name || '.' || table_name, column_name, data_type from duckdb_columns() "
            "join duckdb_tables() using (database_name, schema_name, table_name) "
            "where data_type in ('VARCHAR', 'VARCHAR[]') and not duckdb_tables.internal"
        ).fetchall()
        tables = {table for table, *_ in columns}
        for table in tables:
            connection.execute(f"delete from {table} where rowid > 100")
        put = 0
        for table, column, kind in columns:
            if AS_THEY_ARE.fullmatch(f"{table}.{column}"):
                continue
            value = f"'{name}'" if kind == "VARCHAR" else f"['{name}']"
            where = "where field = 'technicians'" if table == "marts.choices" else ""
            connection.execute(f'update {table} set "{column}" = {value} {where}')
            put += 1
        assert put > 60
    copy, scratch = folder / "copy.duckdb", folder / "scratch"
    coded_copy.write_coded(planted, copy, scratch, {name: "tech-2AB"})
    check_no_name(copy, [name])


def test_every_column_of_text_is_coded_or_listed(made: Path, tmp_path: Path) -> None:
    check_every_column_of_text(made, tmp_path)


def test_a_column_that_nobody_thought_of_is_caught(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    original = queries.statement
    without = r"    coded_text\(payer\) as payer,\n"
    monkeypatch.setattr(queries, "statement", lambda name: re.sub(without, "", original(name)))
    with pytest.raises(AssertionError):
        check_every_column_of_text(made, tmp_path)


def test_everything_else_is_as_it_was(store: Store) -> None:
    before, after = cells(store.current().path), cells(coded(store))  # type: ignore[union-attr]
    assert before.keys() == after.keys()
    codes = TechnicianCodes(store.folder).all()
    for table, rows in before.items():
        if table.startswith("replaced."):
            assert after[table].is_empty()
            continue
        copy = after[table]
        assert (table, copy.columns, copy.height) == (table, rows.columns, rows.height)
        same = [c for c in rows.columns if rows[c].dtype not in (pl.String, pl.List(pl.String))]
        assert copy.select(same).equals(rows.select(same)), table
        for column in set(rows.columns) & WHOSE:
            assert copy[column].equals(rows[column].replace_strict(codes, default=None)), (table, column)


def test_figures_are_the_same_under_codes(store: Store) -> None:
    coded(store)
    codes = TechnicianCodes(store.folder).all()
    named, fleet = Fleet(store), Fleet(store).in_codes()

    def by(asked: Fleet, names: dict[str, str]) -> dict[str | None, tuple[int, int]]:
        groups = asked.figures(Filters(), by="technician").groups
        rates = {each.group: each.callback_rate for each in groups}
        return {names.get(g or "", g): (r.numerator, r.denominator) for g, r in rates.items()}

    assert by(named, codes) == by(fleet, {})
    assert len(by(fleet, {})) > 8
    one = next(iter(codes))
    chosen = named.figures(Filters(technicians=(one,))).callback_rate
    assert fleet.figures(Filters(technicians=(codes[one],))).callback_rate == chosen
    assert fleet.figures(Filters(technicians=(one,))).callback_rate.denominator == 0


def test_codes_stay_over_loads_and_say_nothing(store: Store, made: Path, tmp_path: Path) -> None:
    first = coded(store)
    codes = TechnicianCodes(store.folder).all()
    assert len(set(codes.values())) == len(codes)
    assert all(re.fullmatch(r"tech-[2-9A-Z]{3,}", code) for code in codes.values())
    more = tmp_path / "more.csv"
    more.write_text(
        "call_id,unit_id,opened_at,complaint,technician_id\nX,U1,2026-10-01,no ice,Somebody New\n"
    )
    load_files(store, [more])
    assert coded(store) != first
    after = TechnicianCodes(store.folder).all()
    assert {name: after[name] for name in codes} == codes
    assert after.keys() - codes.keys() == {"Somebody New"}
    TechnicianCodes(tmp_path).give(codes)
    assert TechnicianCodes(tmp_path).all() != codes, "another store draws others"


def test_a_code_is_nobody_s_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter("2AA2AA2AB2AB2AC")
    monkeypatch.setattr("analytics.technician_codes.secrets.choice", lambda _: next(drawn))
    codes = TechnicianCodes(tmp_path)
    codes.give(["2aa", "Jo"])
    assert sorted(codes.all().values()) == ["tech-2AB", "tech-2AC"]


def test_a_name_within_a_text_is_found_as_a_whole_word() -> None:
    pattern = re.compile(mention(["T018", "T0", "Ann", "Ann Lee"]))
    assert pattern.sub("?", "t018, T0, Annie, ann; ANN  Lee T0181") == "?, T0, Annie, ?; ? T0181"
    assert re.compile(mention([])).search("anything") is None


def check_forgotten(store: Store) -> None:
    name = next(each for each in every_name(store) if each.startswith("ROWAN"))
    coded(store)
    assert name in TechnicianCodes(store.folder).all()
    forget(store, "technician", name, "test")
    assert name not in TechnicianCodes(store.folder).all()
    assert coded_copies(store.folder) == {}
    assert name.encode() not in (store.folder / "decisions.sqlite").read_bytes()


def test_forgetting_takes_the_code_and_the_copy(store: Store) -> None:
    check_forgotten(store)


def test_forgetting_that_leaves_the_code_is_caught(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(TechnicianCodes, "forget", lambda *_: None)
    with pytest.raises(AssertionError):
        check_forgotten(store)


def test_a_copy_goes_with_its_generation(store: Store, tmp_path: Path) -> None:
    first = coded(store)
    left, orphan = store.folder / "coded-999999999.tmp", coded_path(store.folder, 900_000)
    left.mkdir()
    orphan.touch()
    for at in range(3):
        more = tmp_path / f"more{at}.csv"
        more.write_text(f"call_id,unit_id,opened_at,complaint\nX{at},U1,2026-10-01,no ice\n")
        load_files(store, [more], extracted=date(2026, 11, 2))
    assert not first.exists()
    assert not left.exists()
    assert not orphan.exists()
    coded(store)
    parts = [part.name for part in back_up(store.folder, tmp_path / "backup.tar").parts]
    assert [name for name in parts if name.startswith("coded")] == []
    assert "decisions.sqlite" in parts


def test_a_generation_removed_meanwhile_leaves_no_copy(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    original: Callable[..., None] = coded_copy.write_coded
    gone = every_name(store)[-1]

    def and_forget(*asked: object) -> None:
        original(*asked)
        forget(store, "technician", gone, "test")

    monkeypatch.setattr(coded_copy, "write_coded", and_forget)
    with pytest.raises(StoreProblem, match="was removed"):
        coded(store)
    assert [path.name for path in store.folder.glob("coded-*")] == []
    assert gone not in TechnicianCodes(store.folder).all()
    assert gone.encode() not in (store.folder / "decisions.sqlite").read_bytes()


def test_a_full_disk_is_said_and_names_stay_hidden(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    Accounts(store.folder).show_names_from("settle", "test")
    fleet = Fleet(store)
    full = shutil.disk_usage(store.folder)._replace(free=1_000_000)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: full)
    with pytest.raises(StoreProblem, match="Make room"):
        fleet.keep_coded()
    with pytest.raises(NotReady, match="1 MB are free"):
        fleet.in_codes()
    assert fleet.keep_coded() is False, "it is not tried again at once"
    assert [path.name for path in store.folder.glob("coded-*")] == []


def test_the_copy_is_kept_only_where_it_is_asked_for(store: Store) -> None:
    fleet, accounts = Fleet(store), Accounts(store.folder)
    assert fleet.keep_coded() is False
    with pytest.raises(NotReady, match="being made"):
        fleet.in_codes()
    accounts.show_names_from("settle", "test")
    assert fleet.keep_coded() is True
    assert fleet.in_codes().generation()["number"] == fleet.generation()["number"]
    accounts.show_names_from("look", "test")
    fleet.keep_coded()
    assert coded_copies(store.folder) == {}


def test_a_damaged_copy_is_made_anew(store: Store) -> None:
    Accounts(store.folder).show_names_from("settle", "test")
    coded(store).write_bytes(b"no database" * 1000)
    fleet = Fleet(store)
    with pytest.raises(NotReady):
        fleet.in_codes().choices()
    assert fleet.keep_coded() is True
    assert fleet.in_codes().choices()["technicians"].height > 8


def test_the_former_copy_is_shown_until_the_new_one_is_ready(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Accounts(store.folder).show_names_from("settle", "test")
    fleet = Fleet(store)
    fleet.keep_coded()
    more = tmp_path / "more.csv"
    more.write_text("call_id,unit_id,opened_at,complaint\nX,U1,2026-10-01,no ice\n")
    load_files(store, [more])
    numbers = [each.generation()["number"] for each in (fleet, fleet.in_codes())]
    assert numbers == [2, 1]
    assert fleet.in_codes().loaded_meanwhile() is not None
    meanwhile = []

    def ahead(folder: Path, also: object, in_codes: bool) -> Iterator[Told]:
        meanwhile.append((in_codes, list(coded_copies(folder)), fleet.in_codes().generation()["number"]))
        yield 2, "question", "answer"

    monkeypatch.setattr(fleet_shown, "answers_ahead", ahead)
    fleet.keep_coded()
    assert meanwhile == [(True, [1, 2], 1)]
    assert fleet.in_codes().loaded_meanwhile() is None
    assert fleet.in_codes().generation()["number"] == 2
    assert list(coded_copies(store.folder)) == [2]


def test_answers_ahead_are_those_of_the_copy(store: Store) -> None:
    names, path = every_name(store), coded(store)
    told = [(question, answer) for _, question, answer in answers_ahead(store.folder, in_codes=True)]
    assert len(told) > 20
    assert found(names, repr(told)) == []
    assert path.exists()
    assert found(names, repr(Fleet(store).choices())), "with names they are found"
