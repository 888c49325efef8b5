"""A decision killed with SIGKILL at any moment is there whole or not at all, and the next one works."""

import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analytics.decisions import FILE, Decisions
from tests.analytics.decision_writer import pair

WRITER = Path(__file__).with_name("decision_writer.py")


def kill(folder: Path, kind: str, stop: str, after_seconds: float = 0.0) -> int:
    """Start a writer, kill it, and return the last pair that it said was kept."""
    command = [sys.executable, str(WRITER), str(folder), kind, stop]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        first = process.stdout.readline()  # type: ignore[union-attr]
        assert first == ("AT half\n" if stop == "half" else "0\n")
        time.sleep(after_seconds)
        process.kill()
        rest = process.communicate(timeout=30)[0].splitlines()
        assert process.returncode == -signal.SIGKILL
    whole = [line for line in rest if line.isdigit()]
    return int(whole[-2]) if len(whole) > 1 else 0  # the last line may be cut off


def check_whole(folder: Path, said: int) -> None:
    """The file is sound, holds pairs alone and all that were said to be kept, and takes the next one."""
    connection = sqlite3.connect(folder / FILE)
    assert connection.execute("pragma integrity_check").fetchone() == ("ok",)
    halves = "select key from decisions group by key having count(*) <> 2"
    assert connection.execute(halves).fetchall() == [], "half of a decision was kept"
    kept = connection.execute("select count(distinct key) from decisions").fetchone()[0]
    assert kept >= said + 1
    connection.close()
    Decisions(folder).add(pair(2_000_000))
    assert Decisions(folder).current("return", ["C2000000"]).height == 2


def test_killed_between_the_two_of_a_pair(tmp_path: Path) -> None:
    said = kill(tmp_path, "as it is", "half")
    check_whole(tmp_path, said)
    assert Decisions(tmp_path).current("return", ["C1"]).is_empty()


def test_writing_in_two_steps_is_caught(tmp_path: Path) -> None:
    said = kill(tmp_path, "in two steps", "half")
    with pytest.raises(AssertionError, match="half of a decision"):
        check_whole(tmp_path, said)


@pytest.mark.parametrize("after_seconds", [0.0, 0.013, 0.05, 0.11, 0.27])
def test_killed_at_any_moment(tmp_path: Path, after_seconds: float) -> None:
    check_whole(tmp_path, kill(tmp_path, "as it is", "race", after_seconds))
