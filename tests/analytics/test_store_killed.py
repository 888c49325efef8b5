"""A load killed with SIGKILL at any moment leaves the store as it was, and the next load works."""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analytics.errors import StoreProblem
from analytics.store import Store
from tests.analytics import store_writer

WRITER = Path(__file__).with_name("store_writer.py")
BEFORE, ADDED = 1000, 400_000


def start(
    folder: Path, first: int, rows: int, stage: str = "none", share: float = 0.0, kind: str = "as it is"
):
    """Start a process that adds `rows` rows to the store."""
    command = [sys.executable, str(WRITER), str(folder), str(first), str(rows), stage, str(share), kind]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def load(folder: Path, first: int, rows: int) -> None:
    """Add rows in this process, from which nothing is left once it is done."""
    store_writer.main(str(folder), str(first), str(rows), "none", "0", "as it is")


def kill_at(
    folder: Path, stage: str, share: float, kind: str = "as it is", after_seconds: float = 0.0
) -> None:
    """Start a load, and kill it once it has said itself that it stands at the stage."""
    with start(folder, BEFORE, ADDED, stage, share, kind) as process:
        assert process.stdout.readline() == f"AT {stage} {share}\n"
        time.sleep(after_seconds)
        process.kill()
        output = process.communicate(timeout=60)[0]
        if stage != "race":
            assert (process.returncode, output) == (-signal.SIGKILL, "")


def rows(folder: Path) -> int:
    """Read every row of the current generation, not only their count, as a process of its own would."""
    store = Store(folder)
    query = "select count(distinct technician_id), sum(line) from records.technicians where row_hash = line"
    count, total = store.reader().cursor().execute(query).fetchone()
    assert total == count * (count - 1) // 2, "the rows are not those that one load wrote"
    return count


def check_survived(folder: Path, expected: set[int]) -> None:
    """The store is readable, holds one of the whole states, and takes the next load."""
    found = rows(folder)
    assert found in expected, f"{found} rows are neither of the whole states {expected}"
    load(folder, found, 10)
    assert rows(folder) == found + 10
    names = {path.name for path in folder.iterdir()}
    generations = {name for name in names if name.startswith("generation-")}
    assert names - generations == {"current", "load.lock"}, "something was left behind"
    assert not [name for name in generations if not name.endswith(".duckdb")]


@pytest.fixture
def loaded(tmp_path: Path) -> Path:
    load(tmp_path / "store", 0, BEFORE)
    return tmp_path / "store"


@pytest.mark.parametrize(
    ("stage", "share", "expected"),
    [
        ("copying", 0.0, {BEFORE}),
        ("writing", 0.5, {BEFORE}),
        ("checkpoint", 0.0, {BEFORE}),
        ("pointer", 0.0, {BEFORE}),
        ("pointer", 0.5, {BEFORE}),
        ("pointer", 1.0, {BEFORE + ADDED}),
    ],
)
def test_killed_at_a_stage(loaded: Path, stage: str, share: float, expected: set[int]) -> None:
    kill_at(loaded, stage, share)
    check_survived(loaded, expected)


def test_killed_at_random_while_checkpointing_and_replacing_the_pointer(loaded: Path) -> None:
    chance = random.Random(1)
    for _ in range(6):
        before = rows(loaded)
        with start(loaded, before, ADDED, "race") as process:
            assert process.stdout.readline() == "AT race 0.0\n"
            time.sleep(chance.uniform(0, 0.08))
            process.kill()
            process.communicate(timeout=60)
        check_survived(loaded, {before, before + ADDED})


@pytest.mark.parametrize(("stage", "share"), [("copying", 0.0), ("writing", 0.5), ("pointer", 0.5)])
def test_killed_first_load_leaves_an_empty_store(tmp_path: Path, stage: str, share: float) -> None:
    kill_at(tmp_path, stage, share)
    assert not Store(tmp_path).exists()
    load(tmp_path, 0, 10)
    assert rows(tmp_path) == 10
    assert len(list(tmp_path.glob("generation-*"))) == 1


@pytest.mark.parametrize(
    ("kind", "stage", "share"),
    [
        ("data in place", "writing", 0.5),
        ("pointer first", "writing", 0.5),
        ("pointer in place", "pointer", 0.5),
    ],
)
def test_a_store_that_is_not_atomic_is_caught(loaded: Path, kind: str, stage: str, share: float) -> None:
    kill_at(loaded, stage, share, kind)
    with pytest.raises((AssertionError, StoreProblem)):
        check_survived(loaded, {BEFORE, BEFORE + ADDED})


@pytest.mark.parametrize("kind", ["data in place", "pointer first", "pointer in place"])
def test_the_broken_stores_work_when_nobody_kills_them(loaded: Path, kind: str) -> None:
    """So that it is the kill that catches them."""
    with start(loaded, BEFORE, ADDED, kind=kind) as process:
        process.communicate(timeout=60)
    assert rows(loaded) == BEFORE + ADDED


def test_two_loads_at_once_lose_nothing(loaded: Path) -> None:
    with start(loaded, BEFORE, ADDED) as one, start(loaded, BEFORE + ADDED, ADDED) as other:
        assert one.communicate(timeout=60)[0] == other.communicate(timeout=60)[0] == "DONE\n"
    assert rows(loaded) == BEFORE + 2 * ADDED


def test_second_load_is_told_who_is_loading(loaded: Path) -> None:
    with start(loaded, BEFORE, ADDED, "writing", 0.5) as process:
        assert process.stdout.readline() == "AT writing 0.5\n"
        with (
            pytest.raises(StoreProblem, match=f"process {process.pid} on .* since"),
            Store(loaded).writing(wait_seconds=0),
        ):
            pass
        process.kill()
    check_survived(loaded, {BEFORE})
