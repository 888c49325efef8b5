"""The file of decisions: nothing is lost, nothing else is touched, and every trouble is said."""

import os
import sqlite3
import subprocess
import sys
import tempfile
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

from analytics import decision_files
from analytics.decisions import FILE, MOST_CHARACTERS, Decision, Decisions
from analytics.errors import BadQuestion, StoreProblem
from analytics.store import Store


def mark(key: str, note: str = "", value: str = "yes") -> Decision:
    return Decision("reviewed", "return", key, value, note)


def notes(folder: Path, *keys: str) -> dict[str, str]:
    return dict(Decisions(folder).current("return", keys).select("key", "note").rows())


def test_before_the_first_decision_there_is_no_file(tmp_path: Path) -> None:
    assert Decisions(tmp_path).current("return", ["C1"]).is_empty()
    assert list(tmp_path.iterdir()) == []


def test_latest_counts_and_an_empty_one_takes_back(tmp_path: Path) -> None:
    at = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)
    kept = Decisions(tmp_path, lambda: at)
    kept.add(
        [mark("C1", "first"), mark("C2", "other"), Decision("reviewed", "no_proof", "C1", "yes", "third")]
    )
    kept.add([mark("C1", "second")])
    assert notes(tmp_path, "C1", "C2", "C3") == {"C1": "second", "C2": "other"}
    assert kept.current("return", ["C1"])["made_at"].to_list() == [datetime(2026, 3, 2, 8, 30)]
    kept.add([mark("C1", value="")])
    assert notes(tmp_path, "C1", "C2") == {"C2": "other"}
    rows = sqlite3.connect(tmp_path / FILE).execute("select count(*) from decisions").fetchone()
    assert rows == (5,), "nothing is changed or removed"


@pytest.mark.parametrize(
    "wrong",
    [
        ("praised", "return", "C1", "yes"),
        ("reviewed", "person", "C1", "yes"),
        ("reviewed", "return", "", "yes"),
        ("reviewed", "return", "C1", "yes", "x" * (MOST_CHARACTERS["note"] + 1)),
    ],
)
def test_a_decision_that_is_none_is_refused(wrong: tuple[str, ...]) -> None:
    with pytest.raises(BadQuestion):
        Decision(*wrong)


def test_text_is_kept_as_text(tmp_path: Path) -> None:
    odd = "'; drop table decisions; --\n=1+1 <script> ü 冷"
    Decisions(tmp_path).add([mark("C1", f"{odd}\0\x1b ")])
    assert notes(tmp_path, "C1") == {"C1": odd}


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Twenty at once, of which each also tries to be the one that makes the file."""
    start = threading.Barrier(20)

    def write(number: int) -> None:
        start.wait()
        Decisions(tmp_path).add([mark(f"C{number}", "n"), mark("all", str(number))])

    threads = [threading.Thread(target=write, args=[n]) for n in range(20)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert len(notes(tmp_path, *(f"C{n}" for n in range(20)))) == 20
    every = sqlite3.connect(tmp_path / FILE).execute("select count(*) from decisions where key = 'all'")
    assert every.fetchone() == (20,)


def test_a_busy_file_is_said_and_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(decision_files, "WAIT_SECONDS", 0.05)
    Decisions(tmp_path).add([mark("C1", "kept")])
    other = sqlite3.connect(tmp_path / FILE, isolation_level=None)
    other.execute("begin immediate")
    with pytest.raises(StoreProblem, match="written by somebody else"):
        Decisions(tmp_path).add([mark("C2")])
    assert notes(tmp_path, "C1", "C2") == {"C1": "kept"}, "reading goes on meanwhile"
    other.close()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("update about set schema_version = 99", "version 99"),
        ("delete from about", "version None"),
        ("drop table about", "damaged"),
    ],
)
def test_another_version_is_refused(tmp_path: Path, change: str, said: str) -> None:
    Decisions(tmp_path).add([mark("C1", "kept")])
    connection = sqlite3.connect(tmp_path / FILE)
    connection.execute(change)
    connection.commit()
    connection.close()
    for use in (
        lambda: Decisions(tmp_path).current("return", ["C1"]),
        lambda: Decisions(tmp_path).add([mark("C2")]),
    ):
        with pytest.raises(StoreProblem, match=said):
            use()
    kept = sqlite3.connect(tmp_path / FILE).execute("select key from decisions").fetchall()
    assert kept == [("C1",)], "nothing was written over"


def test_a_damaged_file_is_named(tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(b"no database" * 500)
    with pytest.raises(StoreProblem, match=r"decisions\.sqlite is damaged"):
        Decisions(tmp_path).current("return", ["C1"])


READ_AND_WRITE = """
import os, sys
from pathlib import Path
from analytics import queries
from analytics.decisions import Decision, Decisions
from analytics.errors import StoreProblem
for name in ("is_made", "version", "current", "begin", "add"):
    queries.statement(f"decisions/{name}")  # nobody may not read the program itself
if os.geteuid() == 0: os.seteuid(65534)
kept = Decisions(Path(sys.argv[1]))
print(kept.current("return", ["C1"])["note"].to_list())
try:
    kept.add([Decision("reviewed", "return", "C2", "yes")])
except StoreProblem as error:
    print(error)
"""


def as_nobody(folder: Path) -> list[str]:
    """Read and write as a user who may only read."""
    command = [sys.executable, "-c", READ_AND_WRITE, str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, env=os.environ)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.mark.parametrize("made", [True, False])
def test_a_folder_that_can_not_be_written_is_read(made: bool) -> None:
    with tempfile.TemporaryDirectory() as name:  # nobody else may enter pytest's own folders
        folder = Path(name)
        if made:
            Decisions(folder).add([mark("C1", "kept")])
        for path in (*folder.iterdir(), folder):
            path.chmod(0o555 if path.is_dir() else 0o444)
        read, *said = as_nobody(folder)
        folder.chmod(0o755)
    assert read == ("['kept']" if made else "[]")
    assert "can not be opened or written" in said[0]


def test_loads_undoing_and_pruning_leave_it_alone(tmp_path: Path) -> None:
    store = Store(tmp_path)
    with store.writing():
        pass
    Decisions(tmp_path).add([mark("C1", "kept")])
    before = (tmp_path / FILE).read_bytes()
    for _ in range(5):  # three generations are kept: two are pruned
        with store.writing():
            pass
    assert len(list(tmp_path.glob("generation-*"))) == 3, "something was pruned"
    store.go_back()
    assert (tmp_path / FILE).read_bytes() == before
    assert notes(tmp_path, "C1") == {"C1": "kept"}


def test_a_decision_leaves_the_generations_alone(tmp_path: Path) -> None:
    with Store(tmp_path).writing():
        pass
    others = {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    Decisions(tmp_path).add([mark("C1")])
    assert {path: path.read_bytes() for path in others} == others
