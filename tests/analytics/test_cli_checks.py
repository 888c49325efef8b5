"""The command checks: figures by hand, cautions, and a file to keep."""

import json
from pathlib import Path

import pytest

from tests.analytics.test_cli import CALLS, VISITS, assert_problem, run, write

CHECKS = """\
visit_id,check,finding,minutes
V1,look for ice in the fill tube or cup,fault,3
V2,seep test,fault,4
V3,voltage at the valve while it should fill,no fault,6
"""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    done = run("load", *write(folder, calls=CALLS, visits=VISITS, checks=CHECKS), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    return folder


def test_figures_by_hand(loaded: Path) -> None:
    """Call 1 came back as call 2, where the seep test found the valve: 60 / 4 = 15 an hour."""
    found = json.loads(run("checks", "--json", "--by", "family", folder=loaded).stdout)
    assert found["suspected"].startswith("Checks were made because")
    seep = next(row for row in found["checks"] if row["check"] == "valve_seep_test")
    assert (seep["found"], seep["made"], seep["per_hour"], seep["per_hour_low"]) == (1, 1, 15, None)
    assert found["groups"][0]["group"] == "ice_making"
    assert [each["code"] for each in found["proof"]] == ["proved", "checked", "unchecked"]


def test_text_has_cautions_and_no_percentage_of_few(loaded: Path) -> None:
    text = run("checks", "--by", "symptom", folder=loaded).stdout
    assert text.startswith("Checks were made because the cause was suspected")
    assert "live voltage: qualified technicians only" in text
    assert "too few" in text
    assert "100.0%" not in text


def test_file_to_keep(loaded: Path, tmp_path: Path) -> None:
    out = tmp_path / "checks.csv"
    assert run("checks", "--by", "symptom", "--csv", out, folder=loaded).returncode == 0
    lines = out.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("symptom,group_label,check,label,caution,made,found")
    assert len(lines) > 2
    assert "can not be written" in assert_problem(
        run("checks", "--csv", tmp_path / "no" / "such.csv", folder=loaded), 1
    )


def test_no_such_grouping_is_said(loaded: Path) -> None:
    assert "invalid choice" in assert_problem(run("checks", "--by", "technician", folder=loaded), 2)
