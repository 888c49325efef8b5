"""The command wrong-turns as a process: figures by hand, own prices, a file to keep, problems in words."""

import json
from pathlib import Path

import pytest

from tests.analytics.test_cli import CALLS, VISITS, assert_problem, run, write

PARTS = """\
visit_id,part,quantity,cost
V1,ice maker module,1,62
"""


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    done = run("load", *write(folder, calls=CALLS, visits=VISITS, parts=PARTS), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    return folder


def test_figures_by_hand(loaded: Path) -> None:
    """Call 1, a frozen tube, came back as call 2, the valve behind it; call 3 held; 4 and 5 are too young."""
    found = json.loads(run("wrong-turns", "--json", folder=loaded).stdout)
    assert "a second fault looks the same" in found["upper_limit"]
    assert (found["calls"], found["known"], found["too_soon"]) == (2, 2, 2)
    assert [found[name]["numerator"] for name in ("right", "went_deeper", "different")] == [1, 1, 0]
    (deeper,) = [row for row in found["matrix"] if row["standing"] == "went_deeper"]
    assert (deeper["returns"], deeper["visits"], deeper["minutes"], deeper["parts"]) == (1, 1, 60, 1)
    assert deeper["money"] == 10 + 40 + 60 + 62
    assert found["parts"][0]["part"] == "ice_maker_module"
    steps = {row["habit"]: row for row in found["habits"]["habits"]}
    # no check at all is recorded: the technician of calls 1 and 3 is left out, and counted
    assert (found["habits"]["technicians_left_out"], found["habits"]["calls_left_out"]) == (1, 2)
    assert (steps["mould_state"]["calls"], steps["mould_state"]["left_out"]) == (0, 1)
    assert "Not recorded is not the same as not done" in found["habits"]["not_done"]
    assert "p_adjusted" in found["habits"]["fared"][0]


def test_text_own_prices_and_a_file(loaded: Path, tmp_path: Path) -> None:
    prices, out = tmp_path / "prices.toml", tmp_path / "matrix.csv"
    prices.write_text("hour_price = 120\n")
    text = run("wrong-turns", "--costs", prices, "--csv", out, folder=loaded).stdout
    assert text.startswith("Something else is an upper limit")
    assert "not fit for pay or discipline" in text
    assert "too few calls, 0 of 2" in text
    assert "262" in text, "10 + 70 + 120 + 62"
    assert "Left out: 2 calls of 1 technicians" in text
    assert "what is in the mould" in text
    assert out.read_text().splitlines()[0].startswith("first_thought,first_label,final_cause")
    assert "can not be written" in assert_problem(
        run("wrong-turns", "--csv", tmp_path / "no" / "such.csv", folder=loaded), 1
    )
    assert "can not be read" in assert_problem(run("wrong-turns", "--costs", out, folder=loaded), 2)
