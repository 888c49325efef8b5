"""The commands fit, evaluate and predict, run in this process on a small fleet."""

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from analytics.causes.keeping import model_path
from analytics.cli import main
from analytics.commands import predict
from analytics.store import Store
from tests.analytics.causes.fitted_fleet import WITHHELD, quickly
from tests.analytics.test_cli import write

ASKED = ("predict", "--complaint", "hollow cubes", "--filter-last-changed", "8 months")


class Line:
    """The command line on one store."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self._capsys = capsys

    def __call__(self, *words: str | Path) -> tuple[int, str, str]:
        code = main(["--data", str(self.folder), *map(str, words)])
        out, err = self._capsys.readouterr()
        return code, out, err

    def json(self, *words: str | Path) -> Any:
        code, out, err = self(*words, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    def problem(self, *words: str | Path) -> tuple[int, str]:
        code, out, err = self(*words)
        assert out == ""
        assert err.startswith("service-calls: ")
        assert err.count("\n") == 1
        return code, err


@pytest.fixture
def line(fitted_store: Store, capsys: pytest.CaptureFixture[str]) -> Line:
    return Line(fitted_store.folder, capsys)


@pytest.fixture
def unfitted(fitted_store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Line:
    """The same store without its model, to be written to."""
    shutil.copytree(fitted_store.folder, tmp_path / "store")
    model_path(tmp_path / "store").unlink()
    return Line(tmp_path / "store", capsys)


def test_fit(unfitted: Line, tmp_path: Path) -> None:
    with quickly():
        about = unfitted.json("fit", "--card", tmp_path / "card.md")["about"]
    assert about["evaluation"]["earlier"] > 1000
    assert about["counts"]["learned_from"] > about["evaluation"]["earlier"]
    assert {"fitted_at", "data_of", "versions", "catalogue", "generation", "format"} <= set(about)
    assert model_path(unfitted.folder).exists()
    card = (tmp_path / "card.md").read_text(encoding="utf-8")
    assert card.startswith("# Model card: causes from intake answers")
    for wanted in (
        f"{about['counts']['learned_from']:,}",
        f"{about['evaluation']['later']:,}",
        "What it can not do",
    ):
        assert wanted in card
    assert unfitted.json(*ASKED)["calls"]


def test_fit_says_how_good_it_is(unfitted: Line) -> None:
    with quickly():
        code, out, err = unfitted("fit", "--progress")
    assert code == 0
    assert "better than overall shares by" in out
    assert "better than shares by kind of complaint by" in out
    assert "NOT" not in out
    assert "judging" in err


def test_evaluate_keeps_nothing(unfitted: Line) -> None:
    with quickly():
        found = unfitted.json("evaluate")
        code, out, _ = unfitted("evaluate")
    assert set(found) == {
        "cut", "earlier", "later", "scores", "gains", "calibration", "calibration_error", "recalls",
        "learning", "worth", "tried", "orders",
    }  # fmt: skip
    assert {row["answer"] for row in found["worth"]} == {"complaint", *WITHHELD}
    assert code == 0
    assert f"Judged on {found['later']:,} opened from {found['cut']} on" in out
    assert not model_path(unfitted.folder).exists()


def check_call(call: dict[str, Any]) -> None:
    assert {"call_id", "causes", "checks", "parts", "enough_to_tell", "questions", "moved"} <= set(call)
    chances = [each["chance"] for each in call["causes"]]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) == pytest.approx(1)
    assert all(each["minutes"] >= 0 for each in call["checks"])
    assert 0 <= call["parts_cover"] <= 1


def test_answers_as_options(line: Line) -> None:
    found = line.json(*ASKED)
    (call,) = found["calls"]
    check_call(call)
    assert call["checks"]
    asked = {each["field"] for each in call["questions"]}
    assert "mould_state" in asked
    assert "filter_last_changed" not in asked
    more_told = ("--mould-state", "hollow", "--ice-maker-kind", "flex tray", "--unit-age", "9 years")
    (more,) = line.json(*ASKED, *more_told, "--cover", "0.95")["calls"]
    assert "mould_state" not in {each["field"] for each in more["questions"]}
    assert more["causes"] != call["causes"]
    assert more["parts_cover"] >= 0.95 or more["causes_without_part"]


def test_what_is_told_is_written_as_any_other_file(tmp_path: Path) -> None:
    """Each option is a column of a file of calls, but what is known of the unit, which is one of units."""
    calls, units = predict._rows_of(tmp_path, {name: f"told {name}" for name in predict.TOLD})
    (call,), (unit,) = (list(csv.DictReader(path.read_text().splitlines())) for path in (calls, units))
    of_the_unit = {"product_family", "ice_maker_kind"}
    assert {name: call[name] for name in predict.TOLD if name not in of_the_unit} == {
        name: f"told {name}" for name in predict.TOLD if name not in of_the_unit
    }
    assert unit == {"unit_id": call["unit_id"]} | {name: f"told {name}" for name in of_the_unit}


def test_the_complaint_is_not_needed(line: Line) -> None:
    (call,) = line.json("predict", "--mould-state", "empty")["calls"]
    check_call(call)
    assert not call["enough_to_tell"]
    assert call["moved"][0]["answer"] == "mould_state"


CALLS = """\
call_id,unit_id,opened_at,complaint,mould_state
X1,U1,2026-01-06 09:00,no ice,empty
X2,U2,2026-01-07 09:00,water on the floor,
"""
UNITS = "unit_id,installed_on,water_supply\nU1,2016-01-06,well\n"


def test_a_file_of_calls(line: Line, tmp_path: Path) -> None:
    found = line.json("predict", *write(tmp_path, calls=CALLS, units=UNITS))
    assert [call["call_id"] for call in found["calls"]] == ["X1", "X2"]
    for call in found["calls"]:
        check_call(call)
    first, second = found["calls"]
    assert first["causes"][0] != second["causes"][0]
    day = found["parts_for_the_day"]
    assert set(first["parts"]) & set(second["parts"]) <= set(day)
    assert all(1 <= count <= 2 for count in day.values())
    code, out, _ = line("predict", *write(tmp_path, calls=CALLS))
    assert code == 0
    assert "Call X1\n" in out
    assert "For all of them together: " in out


def test_calls_that_are_loaded(line: Line) -> None:
    with Store(line.folder).reader().now()[0] as cursor:
        rows = cursor.execute("select call_id from marts.calls where job_kind = 'repair' order by 1 limit 2")
        one, two = (call_id for (call_id,) in rows.fetchall())
    calls = line.json("predict", "--call", one, "--call", two)["calls"]
    assert sorted(call["call_id"] for call in calls) == [one, two]
    for call in calls:
        check_call(call)


def test_text(line: Line) -> None:
    code, out, err = line(*ASKED)
    assert (code, err) == (0, "")
    assert out.startswith("Call now\n")
    assert "Checks, " in out
    assert "Bring: " in out
    assert "Ask next: " in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("predict",), "in one way"),
        ((*ASKED, "--call", "C1"), "in one way"),
        (("predict", "calls.csv", "--call", "C1"), "in one way"),
        (("predict", "calls.csv", "--complaint", "no ice"), "in one way"),
        ((*ASKED, "--cover", "2"), "can not cover a share of 2"),
        ((*ASKED, "--cover", "0"), "can not cover a share of 0"),
        ((*ASKED, "--cover", "nan"), "can not cover a share of nan"),
        ((*ASKED, "--cover", "much"), "invalid float value"),
        (("predict", "--call", "nobody"), "no repair call 'nobody'"),
    ],
)
def test_questions_that_make_no_sense(line: Line, words: tuple[str, ...], said: str) -> None:
    code, err = line.problem(*words)
    assert code == 2
    assert said in err


@pytest.mark.parametrize("words", [ASKED, ("predict", "--call", "C1")])
def test_without_a_model(unfitted: Line, words: tuple[str, ...]) -> None:
    code, err = unfitted.problem(*words)
    assert code == 2
    assert "No model of causes was fitted yet. Fit one: service-calls fit." in err


def test_a_damaged_model(unfitted: Line) -> None:
    model_path(unfitted.folder).write_bytes(b"PK\x03\x04 and no more")
    code, err = unfitted.problem(*ASKED)
    assert code == 5
    assert "can not be read as a model" in err
    assert "service-calls fit" in err


def test_too_few_calls(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    few = Line(tmp_path / "few", capsys)
    assert few("load", *write(tmp_path, calls=CALLS))[0] == 0
    code, err = few.problem("fit")
    assert code == 2
    assert "a model needs 200" in err
