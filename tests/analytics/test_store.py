"""The store: what a load makes current, what readers see of it, and what is kept."""

import fcntl
import subprocess
import threading
from pathlib import Path

import duckdb
import pytest

from analytics.errors import StoreProblem
from analytics.store import SCHEMA_VERSION, Draft, Store
from analytics.store_pointer import POINTER


def add(store: Store, *technicians: str) -> None:
    with store.writing(wait_seconds=0) as draft:
        insert(draft.connection, *technicians)


def insert(connection: duckdb.DuckDBPyConnection, *technicians: str) -> None:
    for name in technicians:
        connection.execute(
            "insert into records.technicians values ($name, null, null, 's', 1, 1, 1, null)", {"name": name}
        )


def names(cursor: duckdb.DuckDBPyConnection) -> list[str]:
    return [
        name
        for (name,) in cursor.execute("select technician_id from records.technicians order by 1").fetchall()
    ]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "data")


def test_empty_store_says_how_to_begin(store: Store) -> None:
    assert not store.exists()
    with pytest.raises(StoreProblem, match=r"Nothing has been loaded .* load calls\.csv"):
        store.reader().cursor()
    assert not store.folder.exists(), "asking makes no folder"


def test_default_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SERVICE_CALLS_DATA", raising=False)
    assert Store.default_dir() == Path("data")
    monkeypatch.setenv("SERVICE_CALLS_DATA", "/elsewhere")
    assert Store.default_dir() == Path("/elsewhere")


def test_draft_says_whether_it_is_the_first(store: Store) -> None:
    for first in (True, False):
        with store.writing() as draft:
            assert draft.first is first


def test_each_load_adds_a_generation_to_what_was_there(store: Store) -> None:
    add(store, "a")
    add(store, "b")
    current = store.current()
    assert current is not None
    assert (current.number, current.schema_version) == (2, SCHEMA_VERSION)
    assert names(store.reader().cursor()) == ["a", "b"]


def add_and_fail(draft: Draft) -> None:
    insert(draft.connection, "b")
    (draft.scratch / "half").write_text("x")
    raise ZeroDivisionError


def test_failed_load_changes_nothing(store: Store) -> None:
    add(store, "a")
    before = sorted(path.name for path in store.folder.iterdir())
    with pytest.raises(ZeroDivisionError), store.writing() as draft:
        add_and_fail(draft)
    assert names(store.reader().cursor()) == ["a"]
    assert sorted(path.name for path in store.folder.iterdir()) == before


def test_abandoned_load_changes_nothing(store: Store) -> None:
    add(store, "a")
    with store.writing() as draft:
        insert(draft.connection, "b")
        draft.abandon()
    assert names(store.reader().cursor()) == ["a"]
    assert store.current().number == 1


def test_reader_follows_the_pointer_and_old_cursors_keep_their_generation(store: Store) -> None:
    add(store, "a")
    reader = store.reader()
    old = reader.cursor()
    assert reader.generation().number == 1
    for name in "bcdef":
        add(store, name)
    assert names(old) == ["a"]
    assert names(reader.cursor()) == list("abcdef")
    assert reader.generation().number == 6


def test_another_process_sees_the_load_at_its_next_request(store: Store) -> None:
    """Two Store objects stand for two processes; the killed-load tests use real ones."""
    add(store, "a")
    other = Store(store.folder)
    assert names(other.reader().cursor()) == ["a"]
    add(store, "b")
    assert names(other.reader().cursor()) == ["a", "b"]


def test_threads_each_see_one_whole_generation(store: Store) -> None:
    add(store, "a", "b")
    stop, wrong = threading.Event(), []

    def read() -> None:
        while not stop.is_set():
            cursor = store.reader().cursor()
            first, second = len(names(cursor)), len(names(cursor))
            if first != second or first % 2:
                wrong.append((first, second))

    threads = [threading.Thread(target=read) for _ in range(8)]
    for thread in threads:
        thread.start()
    for number in range(6):
        add(store, f"x{number}", f"y{number}")
    stop.set()
    for thread in threads:
        thread.join()
    assert not wrong
    assert len(names(store.reader().cursor())) == 14


@pytest.mark.parametrize(
    "statement",
    [
        "insert into records.technicians values ('x', null, null, 's', 1, 1, 1, null)",
        "select * from read_csv('/etc/passwd')",
        "copy records.technicians to '/tmp/stolen.csv'",
        "attach '/tmp/other.duckdb'",
        "set memory_limit = '64GB'",
        "set enable_external_access = true",
    ],
)
def test_reader_can_neither_write_nor_leave_its_file(store: Store, statement: str) -> None:
    add(store, "a")
    with pytest.raises(duckdb.Error, match=r"read-only|disabled by configuration|locked"):
        store.reader().cursor().execute(statement)


def test_current_and_two_before_are_kept(store: Store) -> None:
    for name in "abcde":
        add(store, name)
    assert [path.name[-9:-7] for path in sorted(store.folder.glob("generation-*"))] == ["03", "04", "05"]


def test_generation_that_a_reader_of_this_process_uses_is_kept(store: Store) -> None:
    add(store, "a")
    cursor = store.reader().cursor()
    for name in "bcdef":
        add(store, name)
    assert (store.folder / "generation-000001.duckdb").exists()
    store.reader().cursor()
    del cursor
    add(store, "g")
    assert not (store.folder / "generation-000001.duckdb").exists()


def test_going_back_undoes_loads_and_never_gives_a_number_twice(store: Store) -> None:
    for name in "abc":
        add(store, name)
    assert store.go_back().number == 2
    assert names(store.reader().cursor()) == ["a", "b"]
    add(store, "d")
    assert names(store.reader().cursor()) == ["a", "b", "d"]
    assert store.current().number == 4
    assert store.go_back().number == 2
    assert store.go_back().number == 1
    with pytest.raises(StoreProblem, match="no earlier whole generation"):
        store.go_back()


def test_generations_are_listed_newest_first(store: Store) -> None:
    assert store.generations() == []
    for name in "abcd":
        add(store, name)
    assert [each.number for each in store.generations()] == [4, 3, 2]
    store.go_back()
    current = store.current()
    assert current is not None
    assert current.number == 3
    assert current in store.generations()


def test_store_of_another_version_says_what_to_do(store: Store) -> None:
    add(store, "a")
    pointer = store.folder / POINTER
    text = pointer.read_text()
    for version, way_out in (
        (SCHEMA_VERSION + 1, "Update this program"),
        (0, "Load your files anew into another"),
    ):
        pointer.write_text(text.replace(f"schema_version = {SCHEMA_VERSION}", f"schema_version = {version}"))
        with pytest.raises(StoreProblem, match=way_out):
            store.reader().cursor()
        with pytest.raises(StoreProblem, match=way_out), store.writing():
            pass
    pointer.write_text(text)
    assert names(store.reader().cursor()) == ["a"], "and nothing was touched"


def test_stages_are_reported_in_order(store: Store) -> None:
    seen: list[tuple[str, float]] = []
    with store.writing(progress=lambda stage, share: seen.append((stage, share))):
        pass
    assert seen == [
        ("copying", 0.0),
        ("checkpoint", 0.0),
        ("pointer", 0.0),
        ("pointer", 0.5),
        ("pointer", 1.0),
    ]


def test_the_lock_is_one_that_a_backup_can_hold(store: Store) -> None:
    """As docs/operations.md says: `flock load.lock cp ...`."""
    add(store, "a")
    take_lock = ["flock", "--nonblock", str(store.folder / "load.lock"), "true"]
    with store.writing():
        assert subprocess.run(take_lock, check=False).returncode == 1
    assert subprocess.run(take_lock, check=False).returncode == 0
    with (store.folder / "load.lock").open() as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with pytest.raises(StoreProblem, match="Another load"):
            add(store, "b")


def test_cursor_left_open_does_not_hold_the_file(store: Store) -> None:
    with store.writing() as draft:
        left_open = draft.connection.cursor()
        insert(draft.connection, "a")
    assert names(store.reader().cursor()) == ["a"]
    with pytest.raises(duckdb.ConnectionException):
        left_open.execute("select 1")
