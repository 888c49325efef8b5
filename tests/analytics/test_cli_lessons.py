"""lessons on the command line: recording, taking back, cases, and what is refused."""

import json
from pathlib import Path

import pytest

from analytics.cli import main
from analytics.decisions import Decisions
from analytics.intake.loading import load_files
from analytics.store import Store

CALLS = """call_id,unit_id,opened_at,closed_at,complaint,root_cause,technician_id
C1,U1,2026-02-20 09:00,2026-02-20 11:00,no ice,fill tube frozen,T1
C2,U2,2026-03-06 09:00,2026-03-06 10:00,no ice,fill tube frozen,T2
C3,U3,2026-06-06 09:00,2026-06-06 10:00,no ice,fill tube frozen,T2
"""
LESSON = "2026-03-10:fill_tube_frozen"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    file = tmp_path / "calls-2026-09-06.csv"
    file.write_text(CALLS, encoding="utf-8")
    load_files(Store(tmp_path / "data"), [file])
    return tmp_path / "data"


def printed(capsys: pytest.CaptureFixture[str], folder: Path, *words: str, code: int = 0) -> str:
    assert main(["--data", str(folder), "lessons", *words]) == code
    out, err = capsys.readouterr()
    return err if code else out


def test_recorded_shown_and_taken_back(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert "No lesson is recorded" in printed(capsys, folder)
    said = printed(capsys, folder, "--record", LESSON, "--attended", "T1", "--note", "=n", "--who", "Ann")
    assert LESSON in said
    assert "too few" in said
    assert "not fit for pay or discipline" in " ".join(said.split())
    (found,) = json.loads(printed(capsys, folder, "--json"))
    assert (found["key"], found["attended"], found["note"], found["who"]) == (LESSON, ["T1"], "=n", "Ann")
    assert found["before_until"] == "2025-12-10"
    assert found["wrong_first"]["verdict"] == "too_few"
    assert "No lesson is recorded" in printed(capsys, folder, "--take-back", LESSON)


def test_cases(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert "Too few calls fit the rules" in printed(capsys, folder, "--cases", "fill_tube_frozen")
    found = json.loads(printed(capsys, folder, "--cases", "fill_tube_frozen", "--json"))
    assert (found["cases"], found["enough"]) == ([], False)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--record", "2026-03-10"], "names no cause"),
        (["--record", LESSON], "at least one technician"),
        (["--record", "10 March:fill_tube_frozen", "--attended", "T1"], "is not a day"),
        (["--record", LESSON, "--attended", "T9"], "There is no technician 'T9'"),
        (["--record", "2026-03-10:nothing", "--attended", "T1"], "No lesson can be about 'nothing'"),
        (["--cases", "nothing"], "No lesson can be about 'nothing'"),
        (["--take-back", LESSON], "is recorded"),
        (["--attended", "T1"], "belong to --record"),
        (["--cases", "fill_tube_frozen", "--take-back", LESSON], "one of"),
    ],
)
def test_what_makes_no_sense_is_refused(
    capsys: pytest.CaptureFixture[str], folder: Path, words: list[str], said: str
) -> None:
    assert said in printed(capsys, folder, *words, code=2)
    assert Decisions(folder).history("lesson").is_empty()
