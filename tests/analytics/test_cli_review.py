"""this-week and mark on the command line: the same list as on the page, and what is decided on it."""

import json
from pathlib import Path

import pytest

from analytics.cli import main
from analytics.decisions import FILE, Decisions
from analytics.intake.loading import load_files
from analytics.store import Store

CALLS = """call_id,unit_id,opened_at,closed_at,complaint,root_cause,technician_id
C1,U1,2026-02-20 09:00,2026-02-20 11:00,no ice,fill tube frozen,T1
R1,U1,2026-03-05 09:00,,no ice,,T2
C2,U2,2026-03-06 09:00,,no ice,,T1
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    file = tmp_path / "calls-2026-03-06.csv"
    file.write_text(CALLS, encoding="utf-8")
    load_files(Store(tmp_path / "data"), [file])
    return tmp_path / "data"


def printed(capsys: pytest.CaptureFixture[str], folder: Path, *words: str, code: int = 0) -> str:
    assert main(["--data", str(folder), *words]) == code
    out, err = capsys.readouterr()
    return err if code else out


def decided(folder: Path) -> int:
    with Decisions(folder).reading() as connection:
        assert connection is not None
        rows: int = connection.execute("select count(*) from decisions").fetchone()[0]
        return rows


def test_list_then_mark_then_list(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    before = printed(capsys, folder, "this-week")
    assert "Returns: 1, 0 of them reviewed" in before
    assert "not a verdict" in before.splitlines()[0] + before.splitlines()[1]
    assert "Nothing to review this week." in before
    assert decided(folder) == 0
    said = printed(capsys, folder, "mark", "return:R1", "open_call:C2", "--note", "=rang", "--who", "Ann")
    assert said == "Kept: 2 decisions on return:R1, open_call:C2.\n"
    printed(capsys, folder, "mark", "return:R1", "--sort", "part_failed", "--remark", "valve was new")
    found = json.loads(printed(capsys, folder, "this-week", "--json"))
    (row,) = found["returns"]
    assert (row["note"], row["reviewed_by"], row["sorted"], row["remark"]) == (
        "=rang", "Ann", "part_failed", "valve was new",
    )  # fmt: skip
    assert found["open_calls"][-1]["key"] == "C2"
    assert found["can_not_say"]
    printed(capsys, folder, "mark", "return:R1", "--take-back")
    assert "Returns: 1, 0 of them reviewed" in printed(capsys, folder, "this-week")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["mark", "return:NO"], 2, "There is no call 'NO'"),
        (["mark", "R1"], 2, "return:R1"),
        (["mark", "person:T1"], 2, "is no kind"),
        (["mark", "return:R1", "--sort", "his_fault"], 2, "Choose one of our_work"),
        (["mark", "open_call:C2", "--sort", "use"], 2, "Only returns are sorted"),
        (["mark", "return:R1", "--take-back", "--sort", "use"], 2, "--sort ''"),
        (["mark", "return:R1", "--note", "x", "--sort", "use"], 2, "--note belongs to a mark"),
        (["this-week", "--depot", "NOWHERE"], 2, "No call has the depot"),
    ],
)
def test_what_can_not_be_kept_is_said(
    capsys: pytest.CaptureFixture[str], folder: Path, words: list[str], code: int, said: str
) -> None:
    assert said in printed(capsys, folder, *words, code=code)
    assert decided(folder) == 0


def test_an_unreadable_file_of_decisions_stops_marks_but_not_the_list(
    capsys: pytest.CaptureFixture[str], folder: Path
) -> None:
    (folder / FILE).write_bytes(b"no database" * 500)
    assert "is damaged" in printed(capsys, folder, "mark", "return:R1", code=6)
    listed = printed(capsys, folder, "this-week")
    assert "What was decided can not be shown" in listed
    assert "Returns: 1" in listed


def test_marks_stay_over_later_loads(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    printed(capsys, folder, "mark", "return:R1", "--note", "rang")
    later = folder.parent / "calls-2026-03-07.csv"
    later.write_text(CALLS + "C3,U3,2026-03-07 09:00,,no ice,,T1\n", encoding="utf-8")
    for _ in range(2):
        load_files(Store(folder), [later])
    assert Decisions(folder).current("return", ["R1"])["note"].to_list() == ["rang"]
    (row,) = json.loads(printed(capsys, folder, "this-week", "--json"))["returns"]
    assert row["note"] == "rang"
