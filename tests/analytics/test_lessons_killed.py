"""A lesson killed with SIGKILL while it is recorded is there whole or not at all, and the next one works."""

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analytics.decisions import Decisions
from analytics.lessons import KIND, Lesson
from tests.analytics.lesson_writer import lesson

WRITER = Path(__file__).with_name("lesson_writer.py")


def kill(folder: Path, kind: str, after_seconds: float) -> int:
    """Start a writer, kill it, and return the last lesson that it said was kept."""
    command = [sys.executable, str(WRITER), str(folder), kind]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "0\n"
        time.sleep(after_seconds)
        process.kill()
        rest = process.communicate(timeout=30)[0].splitlines()
        assert process.returncode == -signal.SIGKILL
    whole = [line for line in rest if line.isdigit()]
    return int(whole[-2]) if len(whole) > 1 else 0  # the last line may be cut off


def check_whole(folder: Path, said: int) -> None:
    """All that were said to be kept are there, each whole, and the next one is kept."""
    Decisions(folder).add([lesson(200_000).decision()])
    rows = Decisions(folder).history(KIND)
    found = [Lesson.of_row(row) for row in rows.iter_rows(named=True)]
    assert [len(each.attended) for each in found] == [12] * len(found)
    assert len(found) >= said + 2
    assert found[-1].key == lesson(200_000).key


@pytest.mark.parametrize("after_seconds", [0.0, 0.017, 0.06, 0.12])
def test_killed_at_any_moment(tmp_path: Path, after_seconds: float) -> None:
    check_whole(tmp_path, kill(tmp_path, "as it is", after_seconds))


def test_writing_in_two_steps_is_caught(tmp_path: Path) -> None:
    said = kill(tmp_path, "in two steps", 0.3)
    with pytest.raises(json.JSONDecodeError):
        check_whole(tmp_path, said)
