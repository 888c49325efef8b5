"""A load of files killed while decoding, staging, building marts, at the checkpoint, at the pointer."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store

WRITER = Path(__file__).with_name("load_writer.py")
HEADER = "call_id,unit_id,opened_at,closed_at,complaint,outcome"


def calls(folder: Path, first: int, count: int) -> Path:
    """Write calls with consecutive ids, in an encoding that has to be decoded."""
    path = folder / f"calls_{first}.csv"
    rows = (
        f"{i},U{i},2025-01-{i % 27 + 1:02} 09:00,2025-01-{i % 27 + 1:02} 12:00,no ice – “dead”,repaired"
        for i in range(first, first + count)
    )
    path.write_bytes("\n".join([HEADER, *rows, ""]).encode("cp1252"))
    return path


def start(store: Path, stage: str, *files: Path) -> subprocess.Popen[str]:
    command = [sys.executable, str(WRITER), str(store), stage, *map(str, files)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def load(store: Path, *files: Path) -> str:
    """Load in this process, from which nothing is left once it is done."""
    report = load_files(Store(store), list(files), source="office")
    return f"DONE {sum(file.loaded for file in report.files)}"


def counted(store: Path) -> int:
    return Fleet(Store(store)).figures(Filters()).counts["calls"]


@pytest.mark.parametrize("stage", ["decoding", "staging", "building marts", "checkpoint", "pointer"])
def test_killed_load_changes_nothing_and_the_next_one_works(tmp_path: Path, stage: str) -> None:
    store, first, second = tmp_path / "store", calls(tmp_path, 0, 200), calls(tmp_path, 200, 300)
    assert load(store, first) == "DONE 200"
    with start(store, stage, second) as process:
        assert process.stdout.readline() == f"AT {stage}\n"
        process.send_signal(signal.SIGKILL)
        assert (process.communicate(timeout=60)[0], process.returncode) == ("", -signal.SIGKILL)
    assert Store(store).current().number == 1
    assert counted(store) == 200
    assert load(store, second) == "DONE 300"
    assert counted(store) == 500
    assert not list(store.glob("*.tmp"))


def test_two_loads_at_once_lose_nothing(tmp_path: Path) -> None:
    store = tmp_path / "store"
    with (
        start(store, "none", calls(tmp_path, 0, 300)) as one,
        start(store, "none", calls(tmp_path, 300, 300)) as two,
    ):
        outputs = [process.communicate(timeout=120)[0].strip() for process in (one, two)]
    assert outputs == ["DONE 300", "DONE 300"]
    assert counted(store) == 600


def test_load_while_figures_are_asked_shows_at_the_next_question(tmp_path: Path) -> None:
    store = tmp_path / "store"
    load(store, calls(tmp_path, 0, 100))
    fleet = Fleet(Store(store))
    assert fleet.figures(Filters()).counts["calls"] == 100
    with start(store, "none", calls(tmp_path, 100, 50)) as another:
        assert another.communicate(timeout=120)[0] == "DONE 50\n"
    assert fleet.figures(Filters()).counts["calls"] == 150
