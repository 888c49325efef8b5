"""What is done leaves a line, whoever does it and from wherever; each with a twin that leaves none."""

import os
import sqlite3
from pathlib import Path

import pytest

from analytics import audit_lines, cli
from analytics.audit import Audit
from analytics.decisions import Decision, Decisions
from analytics.intake.loading import load_files
from analytics.store import Store

HEADER = "call_id,unit_id,opened_at,closed_at,complaint,notes\n"
ROW = "1,U1,2025-01-06 09:00,2025-01-06 12:00,no ice,{}\n"


def file(folder: Path, name: str = "first.csv", note: str = "") -> Path:
    path = folder / name
    path.write_text(HEADER + ROW.format(note), encoding="utf-8")
    return path


def lines(store: Path) -> list[tuple[str, str, str]]:
    return [(row["who"], row["what"], row["about"]) for row in Audit(store).events().to_dicts()][::-1]


def check_everything_leaves_a_line(tmp_path: Path) -> None:
    store = tmp_path / "store"
    load_files(Store(store), [file(tmp_path)], who="Jo Sample")
    load_files(Store(store), [file(tmp_path)], who="Jo Sample")  # loaded before: nothing was done
    load_files(Store(store), [file(tmp_path, "second.csv", "other")])
    Decisions(store).add([Decision("reviewed", "return", "1", "yes", "a note", "Jo Sample")])
    Decisions(store).add([Decision("reviewed", "return", "1", "")])
    assert cli.main(["--data", str(store), "go-back"]) == 0
    told = lines(store)
    terminal = next(who for who, _, about in told if "second.csv" in about)
    assert terminal.startswith("command line")
    assert told == [
        ("Jo Sample", "loaded", "load 1: first.csv (1 rows)"),
        (terminal, "loaded", "load 2: second.csv (1 rows)"),
        ("Jo Sample", "decided", "reviewed return 1"),
        ("(no name)", "decided", "reviewed return 1, taken back"),
        (terminal, "went back", "to generation 1"),
    ]


def test_everything_leaves_a_line(tmp_path: Path) -> None:
    check_everything_leaves_a_line(tmp_path)


@pytest.mark.parametrize("silenced", ["loaded", "decided", "went back"])
def test_what_leaves_no_line_is_caught(
    tmp_path: Path, silenced: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = audit_lines.write

    def some(connection: sqlite3.Connection, at: object, who: str, what: str, about: str = "") -> None:
        if what != silenced:
            write(connection, at, who, what, about)  # type: ignore[arg-type]

    monkeypatch.setattr(audit_lines, "write", some)
    monkeypatch.setattr("analytics.audit.write", some)
    with pytest.raises((AssertionError, StopIteration)):
        check_everything_leaves_a_line(tmp_path)


def test_a_load_that_can_not_be_noted_says_so(tmp_path: Path) -> None:
    store = tmp_path / "store"
    store.mkdir()
    (store / "decisions.sqlite").write_bytes(b"no database" * 1000)
    report = load_files(Store(store), [file(tmp_path)])
    assert report.files[0].rows == 1
    assert any("audit could not be written" in message for message in report.files[0].messages)


def test_a_note_on_a_decision_is_not_in_the_audit(tmp_path: Path) -> None:
    Decisions(tmp_path).add([Decision("remark", "return", "1", "her own words", "and a note", "Jo")])
    (line,) = lines(tmp_path)
    assert line == ("Jo", "decided", "remark return 1")


def test_passwords_come_from_standard_input_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    reading, writing = os.pipe()
    os.write(writing, b"twelve letters\n")
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as given:
        monkeypatch.setattr("sys.stdin", given)
        assert cli.main(["--data", str(tmp_path), "users", "add", "Jo", "--role", "manage"]) == 0
    assert "twelve letters" not in capsys.readouterr().out
    assert cli.main(["--data", str(tmp_path), "users", "add", "Al", "--password", "twelve letters"]) == 2
    assert lines(tmp_path)[0][1:] == ("account added", "Jo, manage")
