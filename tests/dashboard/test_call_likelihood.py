"""The causes as the browser computes them, against numpy and against facts of the trade in the fixed pack."""

from typing import Any

import numpy as np
import pytest

from tests.dashboard.fake_pack import fake_pack
from tests.dashboard.javascript import answer

FILE = ("likelihood.js",)
SAID = {"mould_state": "hollow", "dispenser_flow": "slow", "filter_age_days": "270", "symptom:no_ice": "yes"}


def plainly(pack: dict[str, Any], answers: dict[str, str]) -> dict[str, float]:
    """The same by numpy: effects added up, softmax, rarer causes spread."""
    model = pack["model"]
    score = np.array(model["intercept"], dtype=float)
    for name, levels in model["levels"].items():
        column = levels.get(answers.get(name, ""), levels.get("", model["average"][name]))
        score += np.array(column)
    for name, smooth in model["smooth"].items():
        if answers.get(name):
            grid = np.array(smooth["effects"])
            score += [np.interp(float(answers[name]), smooth["at"], each) for each in grid.T]
        else:
            score += np.array(smooth[""])
    weights = np.exp(score / model["temperature"])
    shares = dict(zip(model["causes"], weights / weights.sum(), strict=True))
    rarer = shares.pop("rarer", 0.0)
    for cause, share in model["rarer"].items():
        shares[cause] = shares.get(cause, 0.0) + rarer * share
    return {cause: float(share) for cause, share in shares.items()}


def likelihood(pack: dict[str, Any], answers: dict[str, str], **twin: Any) -> dict[str, float]:
    return answer(FILE, "serviceCalls.likelihood(pack, answers)", pack=pack, answers=answers, **twin)


def agrees(pack: dict[str, Any], answers: dict[str, str], **twin: Any) -> None:
    found = likelihood(pack, answers, **twin)
    assert found == pytest.approx(plainly(pack, answers), abs=1e-12)


@pytest.mark.parametrize(
    "answers",
    [
        {},
        SAID,
        {"filter_age_days": "0"},
        {"filter_age_days": "100000", "unit_age_days": "3287.3"},
        {"mould_state": "a level nobody has heard of"},
        {"mould_state": ""},
    ],
)
def test_shares_are_those_of_numpy(answers: dict[str, str]) -> None:
    pack = fake_pack()
    pack["model"]["temperature"] = 1.3
    agrees(pack, answers)


def test_shares_add_up_to_one_and_rarer_is_spread() -> None:
    found = likelihood(fake_pack(), SAID)
    assert sum(found.values()) == pytest.approx(1)
    assert "rarer" not in found
    assert found["module_failed"] == pytest.approx(1.5 * found["water_quality"])


@pytest.mark.parametrize(
    "replaced",
    [
        ("low + share * (effects[next][k] - low)", "low"),
        ("share * model.rarer[rare]", "share"),
        ("/ temperature)", "/ 1)"),
    ],
    ids=["no line between the points", "rarer not spread", "temperature ignored"],
)
def test_broken_twin_is_caught(replaced: tuple[str, str]) -> None:
    pack = fake_pack()
    pack["model"]["temperature"] = 1.3
    with pytest.raises(AssertionError):
        agrees(pack, SAID, replaced=replaced)


def test_huge_scores_do_not_overflow() -> None:
    pack = fake_pack()
    pack["model"]["intercept"][0] = 2000
    assert likelihood(pack, {})["filter_restricted"] == pytest.approx(1)


def test_answers_that_moved_a_cause_come_largest_first_with_their_sign() -> None:
    pack = fake_pack()
    said = {"dispenser_flow": "normal", "mould_state": "hollow", "supply_type": "town_water"}
    found = answer(FILE, "serviceCalls.moved(pack, said, 'filter_restricted')", pack=pack, said=said)
    assert {each["field"] for each in found} == set(said)
    effects = {each["field"]: each["effect"] for each in found}
    assert effects["dispenser_flow"] < 0 < effects["mould_state"]
    sizes = [abs(each["effect"]) for each in found]
    assert sizes == sorted(sizes, reverse=True)


def test_what_raises_all_causes_alike_moves_none() -> None:
    pack = fake_pack()
    pack["model"]["levels"]["supply_type"]["well"] = [5.0] * len(pack["model"]["causes"])
    found = answer(FILE, "serviceCalls.moved(pack, {supply_type: 'well'}, 'freezer_warm')", pack=pack)
    assert found[0]["effect"] == pytest.approx(0, abs=1e-12)


def test_what_was_not_answered_moves_nothing() -> None:
    assert answer(FILE, "serviceCalls.moved(pack, {}, 'freezer_warm')", pack=fake_pack()) == []
