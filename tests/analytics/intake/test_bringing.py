"""From a file that was brought to its rows in the records: asked, tried, kept, and known again."""

import fcntl
import os
import re
import time
from collections.abc import Callable
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from analytics.errors import BadQuestion, UnknownRecord
from analytics.intake import bringing, bringing_work, saved_mappings
from analytics.intake.bringing import ASKING, KEPT, STUCK, TRIED, TRYING, Bringing, Stage
from analytics.store import Store
from analytics.store_lock import loading_lock

HEADER = "Auftrag;Gerät;Eingang;Erledigt am;Kunde sagt;Ausgang;Druck"
LINES = [
    f"A{n};G{n % 5};{day};{day};no ice;{'erledigt' if n % 3 else '2 = closed'};{40 + n}"
    for n, day in enumerate(f"0{1 + n % 9}/0{1 + n // 9}/2026" for n in range(27))
]
FILE = "\n".join([HEADER, *LINES, "A99;G1;41/41/2026;;no ice;;50"]) + "\n"
"""28 rows, of which 27 can be loaded: on 41/41 nobody rang. No day is above 12: no date tells the order."""

ANSWERS = {"date.opened_at": "day first", "date.closed_at": "day first", "name": "North", "sender": "north"}


@pytest.fixture
def desk(tmp_path: Path) -> Bringing:
    return Bringing(Store(tmp_path / "store"), start=lambda store, token, _: bringing_work.work(store, token))


def bring(desk: Bringing, content: str | bytes = FILE, name: str = "march.csv") -> str:
    raw = content.encode() if isinstance(content, str) else content
    return desk.receive(name, len(raw), BytesIO(raw).read).token


def form(stage: Stage, **more: str) -> dict[str, str]:
    """What the browser sends when nothing is changed but what is given."""
    assert stage.answers is not None
    return {f"column.{name}": str(place) for name, place in stage.answers.columns.items()} | ANSWERS | more


def tried(desk: Bringing, content: str | bytes = FILE, name: str = "march.csv") -> str:
    token = bring(desk, content, name)
    assert desk.answer(token, form(desk.ask(token))) == []
    return token


def file_report(stage: Stage) -> dict:
    return stage.report["files"][0]


def test_it_is_looked_at_and_asked_about(desk: Bringing) -> None:
    stage = desk.stage(bring(desk))
    assert stage.step == ASKING
    assert (stage.look["encoding"], stage.look["separator"], stage.look["rows"]) == ("utf-8", "semicolon", 28)
    assert stage.look["first_rows"][0] == LINES[0].split(";")
    assert stage.suggested["table"] == "calls"
    assert stage.suggested["columns"]["opened_at"] == 2
    assert stage.suggested["surety"]["opened_at"] == "sure"
    assert "7" in stage.suggested["reason"]


def test_an_open_date_is_shown_both_ways_with_its_row(desk: Bringing) -> None:
    asked = desk.stage(bring(desk)).suggested["dates"]["opened_at"]
    assert (asked["example"], asked["day_first"], asked["month_first"]) == (
        "02/01/2026", "2 January 2026", "1 February 2026",
    )  # fmt: skip
    assert ["Auftrag", "A1"] in [list(each) for each in asked["row"]]


def test_words_are_asked_most_frequent_first(desk: Bringing) -> None:
    words = desk.stage(bring(desk)).suggested["words"]
    assert words["outcome"]["unknown"] == [["erledigt", 18, ""], ["2 = closed", 9, ""]]
    assert words["complaint"]["known"] == [["no ice", 28, "no_ice"]]


def test_a_word_of_two_columns_is_asked_once_and_kept(desk: Bringing) -> None:
    lines = ["call_id,unit_id,opened_at,complaint,root_cause,first_diagnosis"]
    lines += [f"A{n},G1,2026-01-{n:02},no ice,was kaputt,was kaputt" for n in range(1, 6)]
    token = bring(desk, "\n".join(lines) + "\n")
    asked = desk.ask(token).suggested["words"]
    assert asked["root_cause"]["unknown"] == [["was kaputt", 10, ""]]
    assert asked["root_cause"]["columns"] == ["root_cause", "first_diagnosis"]
    assert "first_diagnosis" not in asked
    code = next(iter(desk.catalogue().coded("root_cause")))
    assert desk.answer(token, form(desk.ask(token)) | {"word.root_cause.unknown.0": code}) == []
    answers = desk.stage(token).answers
    assert answers is not None
    assert answers.words == {"root_cause": {"was kaputt": [code]}}


def test_what_is_missing_is_said_and_nothing_is_tried(desk: Bringing) -> None:
    token = bring(desk)
    sent = form(desk.ask(token)) | {"date.opened_at": "", "column.unit_id": "", "column.complaint": "0"}
    said = desk.answer(token, sent | {"extracted": str(date.today() + timedelta(days=2)), "full": "yes"})
    for part in ("comes first in 'Eingang'", "Still needed", "chosen twice", "lies in the future"):
        assert any(part in each for each in said), part
    assert desk.stage(token).step == ASKING
    assert desk.answer(token, form(desk.ask(token), full="yes")) != [], "everything needs its day"


@pytest.mark.parametrize(
    "wrong",
    [
        {"column.call_id": "99"},
        {"column.call_id": "-1"},
        {"date.opened_at": "whenever"},
        {"word.outcome.unknown.0": "no_such_code"},
        {"extracted": "yesterday"},
        {"name": "x" * 101},
    ],
)
def test_what_no_form_offers_is_refused(desk: Bringing, wrong: dict[str, str]) -> None:
    token = bring(desk)
    with pytest.raises(BadQuestion):
        desk.answer(token, form(desk.ask(token)) | wrong)


def unchanged(desk: Bringing, token: str, store: Store) -> None:
    report = file_report(desk.stage(token))
    assert (
        report["rows"] == 28 == sum(report[each] for each in ("loaded", "updated", "repeated", "set_aside"))
    )
    assert (report["loaded"], report["reasons"]) == (27, {"not_a_date": 1})
    assert not store.exists()
    assert report["examples"] == [
        {"line": 29, "reason": "not_a_date", "column_name": "opened_at", "found": "41/41/2026"}
    ]


def test_a_trial_accounts_for_every_row_and_keeps_nothing(desk: Bringing, tmp_path: Path) -> None:
    unchanged(desk, tried(desk), Store(tmp_path / "store"))


def test_a_trial_that_keeps_its_rows_is_caught(
    desk: Bringing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load = bringing_work.load_files
    monkeypatch.setattr(bringing_work, "load_files", lambda *a, **named: load(*a, **named | {"trial": False}))
    with pytest.raises(AssertionError):
        unchanged(desk, tried(desk), Store(tmp_path / "store"))


def test_kept_it_is_in_the_records_as_it_was_read_and_the_file_is_gone(
    desk: Bringing, tmp_path: Path
) -> None:
    token = bring(desk)
    sent = form(desk.ask(token)) | {"word.outcome.unknown.0": "repaired"}
    assert desk.answer(token, sent) == []
    desk.keep(token)
    stage = desk.stage(token)
    assert (stage.step, stage.report["mapping"], stage.report["version"]) == (KEPT, "North", 1)
    left = {path.name for path in desk.uploads.place(token).iterdir()}
    assert left <= {"about.json", "work.json", "kept.json"}
    cursor = Store(tmp_path / "store").reader().cursor()
    rows = cursor.sql(
        "select call_id, opened_at::date, outcome from records.calls order by call_id"
    ).fetchall()
    assert len(rows) == 27
    assert rows[1] == ("A1", date(2026, 1, 2), "erledigt")
    assert cursor.sql("select file_name, source from loads.files").fetchall() == [("march.csv", "north")]
    coded = cursor.sql("select codes from texts.codings where text = 'erledigt'").fetchall()
    assert coded == [(["repaired"],)]
    with pytest.raises(UnknownRecord):
        desk.keep(token)


@pytest.fixture
def known(desk: Bringing) -> Bringing:
    desk.keep(tried(desk))
    return desk


def asked_about(desk: Bringing, content: str) -> None:
    stage = desk.stage(bring(desk, content, "april.csv"))
    assert stage.step == ASKING
    assert stage.known == {}


def test_the_next_file_with_these_columns_goes_straight_to_the_trial(known: Bringing) -> None:
    token = bring(known, re.sub(r"^A(\d)", r"B\1", FILE, flags=re.MULTILINE), "april.csv")
    stage = known.stage(token)
    assert (stage.step, stage.known["name"], stage.known["version"]) == (TRIED, "North", 1)
    assert file_report(stage)["loaded"] == 27
    again = known.ask(token)
    assert again.step == ASKING
    assert again.answers is not None
    assert again.answers.dates == {"opened_at": "day first", "closed_at": "day first"}


def test_a_file_with_other_columns_is_asked_about(known: Bringing) -> None:
    asked_about(known, FILE.replace("Druck", "Temperatur"))


def test_a_mapping_that_knows_every_header_is_caught(
    known: Bringing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(saved_mappings, "_named", lambda header: ["any"])
    known.mappings.save(["whatever"], "Any", _same(known))
    with pytest.raises(AssertionError):
        asked_about(known, FILE.replace("Druck", "Temperatur"))


def _same(known: Bringing) -> saved_mappings.Mapping:
    (kept,) = known.mappings.folder.glob("*/0001.toml")
    return saved_mappings.Mapping.read(kept)


def test_other_columns_bring_new_questions_before_the_trial(desk: Bringing) -> None:
    token = bring(desk)
    sent = form(desk.ask(token), **{"column.root_cause": "6"})
    said = desk.answer(token, sent)
    assert said == ["Other columns are chosen now. Look once more at 'Druck' below."]
    assert desk.stage(token).suggested["words"]["root_cause"]["unknown"]
    assert desk.answer(token, sent) == []
    assert desk.stage(token).step == TRIED


def test_what_only_the_whole_file_shows_to_be_open_is_asked_then(
    desk: Bringing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bringing.looking, "write_sample", _first_lines)
    iso = "\n".join([HEADER, "B1;G1;2026-01-05;2026-01-05;no ice;;1", *LINES]) + "\n"
    token = bring(desk, iso)
    assert desk.stage(token).suggested["dates"] == {}
    assert (
        desk.answer(token, {name: each for name, each in form(desk.ask(token)).items() if "date" not in name})
        == []
    )
    stage = desk.ask(token)
    assert stage.step == ASKING
    assert "Whether day or month comes first" in stage.problem
    assert "mapping" not in stage.problem
    assert set(stage.suggested["dates"]) == {"opened_at", "closed_at"}
    assert desk.answer(token, form(stage)) == []
    assert file_report(desk.stage(token))["loaded"] == 28


def _first_lines(sheet: bringing.looking.sheets.Sheet, target: Path) -> bool:
    target.write_text(
        "\n".join(sheet.path.read_text(encoding="utf-8").split("\n")[:2]) + "\n", encoding="utf-8"
    )
    return False


def test_a_sheet_of_a_workbook_is_chosen_and_loaded(desk: Bringing, tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    made.active.append(["Report", "of", "March"])
    sheet = made.create_sheet("Calls")
    for line in FILE.strip().split("\n"):
        sheet.append(line.split(";"))
    made.save(tmp_path / "march.xlsx")
    token = bring(desk, (tmp_path / "march.xlsx").read_bytes(), "march.xlsx")
    assert (desk.stage(token).look["sheets"], desk.stage(token).look["sheet"]) == (["Sheet", "Calls"], 1)
    desk.read_as(token, "", 0)
    assert desk.stage(token).look["header"] == ["Report", "of", "March"]
    desk.read_as(token, "calls", 1)
    assert desk.answer(token, form(desk.ask(token))) == []
    report = file_report(desk.stage(token))
    assert (report["file"], report["loaded"]) == ("march.xlsx, Calls", 27)


@pytest.mark.parametrize(
    ("content", "said"),
    [("just one line of prose\n", "one column"), (b"%PDF-1.7 \x00\x01", "march.csv is a PDF")],
)
def test_what_is_no_table_is_said(desk: Bringing, content: str | bytes, said: str) -> None:
    stage = desk.stage(bring(desk, content))
    assert stage.step == STUCK
    assert said in stage.problem
    assert "received" not in stage.problem


def test_somebody_else_loading_is_said_and_can_be_tried_again(
    desk: Bringing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bringing_work, "WAIT_SECONDS", 0.0)
    token = bring(desk)
    (tmp_path / "store").mkdir(exist_ok=True)
    with loading_lock(tmp_path / "store", 0):
        assert desk.answer(token, form(desk.ask(token))) == []
        stage = desk.stage(token)
    assert stage.step == STUCK
    assert "Another load" in stage.problem
    assert "--" not in stage.problem
    desk.try_it(token)
    assert desk.stage(token).step == TRIED


def test_work_that_goes_on_is_seen_and_not_begun_twice(desk: Bringing) -> None:
    token = tried(desk)
    desk.uploads.write(token, "work", {"kind": "try", "ended": False})
    handle = os.open(desk.uploads.place(token) / bringing_work.LOCK, os.O_RDWR)
    fcntl.flock(handle, fcntl.LOCK_EX)
    assert desk.stage(token).step == TRYING
    with pytest.raises(BadQuestion, match="goes on"):
        desk.keep(token)
    os.close(handle)
    stage = desk.stage(token)
    assert (stage.step, stage.problem) == (STUCK, bringing.CUT_OFF)


def test_it_runs_in_a_process_of_its_own_and_is_dropped(tmp_path: Path) -> None:
    desk = Bringing(Store(tmp_path / "store"))
    token = bring(desk)
    _until(lambda: desk.stage(token).step == ASKING)
    assert desk.answer(token, form(desk.ask(token))) == []
    assert desk.stage(token).step in (TRYING, TRIED)
    desk.drop(token)
    assert list(desk.uploads.folder.iterdir()) == []
    assert not Store(tmp_path / "store").exists()


def _until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 60
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)
