"""Habits as data: what the file holds, and what is said of one that does not hold together."""

from pathlib import Path

import pytest

from analytics.catalogue import load_catalogue
from analytics.errors import BadCatalogue
from analytics.habits import FILE, habits, read_habits
from analytics.hand_sorting import hand_sorting
from analytics.valve_evidence import valve_evidence


def test_the_habits_that_come_with_the_program() -> None:
    known = {habit.code: habit for habit in habits()}
    assert set(known) == {
        "mould_state", "filter_age", "valve_evidence", "freezer_temperature", "proof_of_repair",
    }  # fmt: skip
    valve = known["valve_evidence"]
    assert valve.every_part == valve_evidence().parts
    assert valve.every_check == valve_evidence().checks, "one definition of evidence, not two"
    assert known["proof_of_repair"].proof
    assert hand_sorting().proof_checks
    assert known["mould_state"].but == ("never_looked", "dont_know")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'families = ["ice_making"]',
            'families = ["ice"]',
            "habits.mould_state.families: 'ice' is not known",
        ),
        ('checks = ["look_at_mould"]', 'checks = ["look"]', "habits.mould_state.checks: 'look'"),
        ('"dont_know"]', '"perhaps"]', "habits.mould_state.but: 'perhaps'"),
        ('answer = "mould_state"', 'answer = "mood"', "habits.mould_state.answer: 'mood'"),
        ('answer = "mould_state"', "", "levels of no answer"),
        ("proof = true", "proof = false", "habits.proof_of_repair: nothing counts as recorded"),
        ('before = "before the technician leaves"', 'befor = "x"', "unknown key 'befor'"),
        ('standing = "CP"', 'standing = "sure"', "habits.mould_state.standing: 'sure'"),
        ("[habits.mould_state]", "[steps.mould_state]", "unknown key 'steps'"),
        ('causes = ["inlet_valve_open_coil"', 'causes = ["coil"', "habits.valve_evidence.causes: 'coil'"),
        ('parts = ["ice_maker_assembly"', 'parts = ["thing"', "habits.freezer_temperature.parts: 'thing'"),
    ],
)
def test_what_does_not_hold_together_is_said_with_file_and_key(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    text = FILE.read_text(encoding="utf-8")
    assert old in text
    broken = tmp_path / "habits.toml"
    broken.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadCatalogue, match=r"habits\.toml") as problem:
        read_habits(broken, load_catalogue())
    assert said in str(problem.value)
