"""What is forgotten is in no file of the store any more, and everything else still is."""

import csv
import re
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import duckdb
import pytest

from analytics import forgetting, queries
from analytics.audit import Audit
from analytics.cli import main
from analytics.decisions import Decision, Decisions
from analytics.fleet import Fleet
from analytics.forgetting import forget
from analytics.intake.changing import Changing
from analytics.intake.loading import load_files
from analytics.lessons import Lesson
from analytics.store import Store
from synthetic_data import generate

TECHNICIAN, UNIT, HOUSEHOLD = "TECH-QX7731", "UNIT-QX7732", "HOME-QX7733"
CALL = "CALL-QX7734"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store of two loads: one of each kind has calls, rows set aside, notes and decisions."""
    folder = tmp_path_factory.mktemp("made")
    generate(folder / "files", calls=300, seed=5)
    with (folder / "files" / "calls.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    whose = {
        "technician_id": rows[0]["technician_id"],
        "unit_id": rows[0]["unit_id"],
        "household_id": rows[0]["household_id"],
    }
    swap = dict(zip(whose.values(), (TECHNICIAN, UNIT, HOUSEHOLD), strict=True)) | {rows[0]["call_id"]: CALL}
    for path in (folder / "files").glob("*.csv"):
        _replace(path, swap)
    with (folder / "files" / "calls.csv").open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        base = rows[5] | {"notes": f"{TECHNICIAN} {TECHNICIAN} took over from {UNIT}, see {HOUSEHOLD}"}
        writer.writerow(base | {"call_id": "NOTED"})
        told = {"complaint": f"no ice, {TECHNICIAN} was here", "depot": f"Van of {TECHNICIAN}"}
        writer.writerow(base | told | {"call_id": "TOLD"})
        writer.writerow(base | {"call_id": "ALIKE", "complaint": "no ice, (forgotten) was here"})
        bad = {"opened_at": "never", "technician_id": TECHNICIAN, "unit_id": UNIT, "household_id": HOUSEHOLD}
        writer.writerow(base | bad | {"call_id": "BAD"})
    store = Store(folder / "store")
    load_files(store, sorted((folder / "files").glob("*.csv")), extracted=date(2026, 11, 1))
    with (folder / "files" / "calls.csv").open(newline="", encoding="utf-8") as file:
        whose_call = next(row for row in csv.DictReader(file) if row["call_id"] == CALL)
    fields = whose_call | {"notes": f"changed by {TECHNICIAN} for {UNIT}"}
    with (folder / "more.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(fields))
        writer.writeheader()
        writer.writerow(fields)
    # the row before it is kept too
    assert load_files(store, [folder / "more.csv"], extracted=date(2026, 11, 2)).files[0].updated == 1
    changing = Changing(store, lambda _: None)
    changing.folder.mkdir()
    changing.write("done", [{"fields": [UNIT, TECHNICIAN, HOUSEHOLD]}])
    Decisions(store.folder).add(
        [
            Decision("reviewed", "return", CALL, "yes", "n", "Jo"),
            Decision("reviewed", "group", f"technician:{TECHNICIAN}:2026-W01", "yes"),
            Lesson(date(2026, 3, 1), "filter_restricted", (TECHNICIAN, "T2")).decision(),
            Decision(
                "remark", "return", "NOTED", f"was with {TECHNICIAN}, {UNIT}, {HOUSEHOLD}", "", TECHNICIAN
            ),
        ]
    )
    return folder


def _replace(path: Path, swap: dict[str, str]) -> None:
    with path.open(newline="", encoding="utf-8") as file:
        rows = [[swap.get(cell, cell) for cell in row] for row in csv.reader(file)]
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Store:
    shutil.copytree(made / "store", tmp_path / "store")
    return Store(tmp_path / "store")


def cells_with(path: Path, word: str) -> Iterator[str]:
    """Yield the tables of a generation that hold a word in any column."""
    with duckdb.connect(path, read_only=True) as connection:
        tables = connection.execute(
            "select schema_name, table_name from duckdb_tables() where not internal"
        ).fetchall()
        for schema, table in tables:
            frame = connection.table(f'"{schema}"."{table}"').pl()
            if word in str(frame.to_dicts()):
                yield f"{schema}.{table}"


def check_is_nowhere(store: Store, *words: str) -> None:
    """Search the bytes of every file, and, since a database compresses, every cell of every table."""
    for path in sorted(store.folder.rglob("*")):
        content = path.read_bytes() if path.is_file() else b""
        assert [word for word in words if word.encode() in content] == [], path.name
        if path.suffix == ".duckdb":
            assert [(word, list(cells_with(path, word))) for word in words] == [(word, []) for word in words]


KINDS = [("technician", TECHNICIAN), ("unit", UNIT), ("household", HOUSEHOLD)]


@pytest.mark.parametrize(("kind", "number"), KINDS)
def test_what_is_forgotten_is_nowhere(store: Store, kind: str, number: str) -> None:
    files = [path for path in store.folder.rglob("*") if path.is_file()]
    assert any(number.encode() in path.read_bytes() for path in files)
    assert "records.calls" in list(cells_with(store.current().path, number))  # type: ignore[union-attr]
    forget(store, kind, number, "test")
    check_is_nowhere(store, number, *([CALL] if kind == "unit" else []))
    last = Audit(store.folder).events().to_dicts()[0]
    assert (last["who"], last["what"], last["about"]) == ("test", "forgot", f"a {kind}")


@pytest.mark.parametrize(("kind", "number"), KINDS)
def test_everything_else_stays(store: Store, kind: str, number: str) -> None:
    def counted() -> tuple[int, int, int]:
        cursor = Store(store.folder).reader().cursor()
        rows = cursor.execute(
            "select count(*), count(*) filter (unit_id = $u) from records.calls", {"u": UNIT}
        )
        calls, of_unit = rows.fetchone()  # type: ignore[misc]
        return calls, of_unit, cursor.execute("select count(*) from marts.calls").fetchone()[0]  # type: ignore[index]

    calls, of_unit, _ = counted()
    forgotten = forget(store, kind, number, "test")
    after = counted()
    gone = of_unit if kind == "unit" else 0
    assert (after[0], after[2]) == (calls - gone, calls - gone)
    assert forgotten.calls > 0
    kept = Decisions(store.folder).current("return", ["NOTED"]).to_dicts()
    assert [number in str(row) for row in kept] == [False]
    assert "(forgotten)" in kept[0]["value"]
    Fleet(Store(store.folder)).choices()


def test_deleting_without_writing_anew_is_caught(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def only_delete(base: object, path: Path, scratch: Path, change: object) -> None:
        shutil.copyfile(base.path, path)  # type: ignore[attr-defined]
        with duckdb.connect(path) as connection:
            change(connection)  # type: ignore[operator]

    monkeypatch.setattr("analytics.store.rewrite_generation", only_delete)
    forget(store, "unit", UNIT, "test")
    with pytest.raises(AssertionError):
        check_is_nowhere(store, UNIT)


def check_complaint_is_understood(store: Store) -> None:
    rows = (
        Store(store.folder)
        .reader()
        .cursor()
        .execute(
            "select call_id, depot, symptom_set > 0 from marts.calls "
            "where call_id in ('TOLD', 'ALIKE') order by 1"
        )
    )
    alike, told = rows.fetchall()
    assert told == ("TOLD", "Van of (forgotten)", True)
    assert alike[2]


def test_a_complaint_that_names_somebody_is_understood_as_before(store: Store) -> None:
    forget(store, "technician", TECHNICIAN, "test")
    check_complaint_is_understood(store)


def test_a_complaint_that_parts_from_its_meaning_is_caught(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    original, part = queries.statement, "complaint = without(complaint, $mention)"
    monkeypatch.setattr(
        queries, "statement", lambda name: original(name).replace(part, "complaint = complaint")
    )
    forget(store, "technician", TECHNICIAN, "test")
    with pytest.raises(AssertionError):
        check_complaint_is_understood(store)


def test_forgetting_that_leaves_the_decisions_is_caught(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(forgetting, "_forget_decisions", lambda *_: 0)
    forget(store, "technician", TECHNICIAN, "test")
    with pytest.raises(AssertionError):
        check_is_nowhere(store, TECHNICIAN)


def test_forgetting_that_leaves_the_rows_replaced_is_caught(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    original = queries.statement
    monkeypatch.setattr(
        queries,
        "statement",
        lambda name: re.sub(r"(update|delete from) replaced\.[^;]*;", "", original(name)),
    )
    forget(store, "technician", TECHNICIAN, "test")
    with pytest.raises(AssertionError):
        check_is_nowhere(store, TECHNICIAN)


def test_a_load_goes_on_from_there(store: Store, tmp_path: Path) -> None:
    forget(store, "unit", UNIT, "test")
    later = tmp_path / "later.csv"
    later.write_text("call_id,unit_id,opened_at,complaint\nX2,U-1,2026-01-03,no ice\n")
    assert load_files(Store(store.folder), [later]).files[0].loaded == 1
    check_is_nowhere(store, UNIT)


def test_the_command_says_first_and_does_then(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--data", str(store.folder), "forget", "unit", UNIT]
    before = sorted(path.name for path in store.folder.rglob("*"))
    assert main(asked) == 0
    assert "Nothing was changed" in capsys.readouterr().out
    assert sorted(path.name for path in store.folder.rglob("*")) == before
    assert main([*asked, "--yes"]) == 0
    assert "are gone" in capsys.readouterr().out
    check_is_nowhere(store, UNIT)
    assert main(["--data", str(store.folder), "forget", "unit", " "]) == 2
