"""The commands first-visit and costs: figures by hand, and assumptions that are refused."""

import json
from pathlib import Path

import pytest

from tests.analytics.test_cli import CALLS, VISITS, assert_problem, run, write

PARTS = """\
visit_id,part,quantity,cost
V2,inlet valve,1,62
"""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    done = run("load", *write(folder, calls=CALLS, visits=VISITS, parts=PARTS), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    return folder


def test_first_visit(loaded: Path) -> None:
    """Of calls 1 and 3 (2 is a callback, the others are too young) call 1 came back."""
    found = json.loads(run("first-visit", "--json", "--by", "depot", folder=loaded).stdout)
    rate = found["whole"]["first_time_fix_rate"]
    assert (rate["numerator"], rate["denominator"]) == (1, 2)
    assert found["whole"]["reasons"] == {
        "came_back": 1, "part": 0, "diagnosis": 0, "no_access": 0, "other": 0,
    }  # fmt: skip
    assert found["parts_aboard"]["trips"] == 0
    text = run("first-visit", folder=loaded).stdout
    assert "1 of 2" in text
    assert "50" not in text.split("\n")[0], "no bare percentage of fewer than 5 calls"


def test_first_visit_of_people_opens_with_what_it_can_not_say(loaded: Path) -> None:
    assert run("first-visit", "--by", "technician", folder=loaded).stdout.startswith(
        "These figures can not say"
    )
    assert "can_not_say" in json.loads(
        run("first-visit", "--json", "--technician", "T1", folder=loaded).stdout
    )


def test_costs(loaded: Path, tmp_path: Path) -> None:
    """The return of call 1: an hour on site 60, travel 30 + 10, office 10, valve 62."""
    found = json.loads(run("costs", "--json", folder=loaded).stdout)
    assert found["per_return"]["value"] == pytest.approx(172)
    own = tmp_path / "own.toml"
    own.write_text("hour_price = 120\ntravel_km = 0\n")
    again = json.loads(run("costs", "--json", "--costs", own, "--travel-km", "10", folder=loaded).stdout)
    assert again["per_return"]["value"] == pytest.approx(120 + 60 + 5 + 10 + 62)
    assert again["assumptions"]["travel_km"] == 10
    text = run("costs", folder=loaded).stdout
    assert "172 (too few for an interval)" in text
    assert "--hour-price; invented" in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--hour-price", "much"), "Give a number from 0 to 10000, in money an hour"),
        (("--hour-price=-1",), "Give a number from 0"),
        (("--costs", "none.toml"), "can not be read as a file of cost assumptions"),
        (("--by", "technician"), "invalid choice"),
    ],
)
def test_what_can_not_be_costed_is_said(loaded: Path, words: tuple[str, ...], said: str) -> None:
    assert said in assert_problem(run("costs", *words, folder=loaded), 2)
