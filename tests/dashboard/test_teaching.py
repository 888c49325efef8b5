"""The page on teaching: its answer, whom it names and when, and what it refuses."""

import pytest

from dashboard.app import draw
from dashboard.pages.tables import Kept
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.fake_frames import TECHNICIANS
from tests.dashboard.reading import links, nodes, plain, text


def page(search: str = "", calls: int = 4480) -> list:
    return plain(draw(FakeFleet(calls=calls), "/teaching", search)[0])  # type: ignore[arg-type]


def test_answer_says_what_to_teach_next_and_sorts_the_causes() -> None:
    words = text(page())
    assert "Teach next: Tell it apart: inlet valve seeping" in words
    assert "A lesson of 20 minutes for 20 technicians of 30 would save about" in words
    assert "Of 3 troubles looked at: 1 can be taught" in words
    assert words.index("Teach next") < words.index("1 lesson worth giving")
    assert "Technicians differ enough to teach in 1 of 2 troubles with enough calls" in words
    assert "too few" in words


def test_nobody_is_named_unless_it_is_asked_for() -> None:
    words = text(page())
    assert not any(name in words for name in TECHNICIANS)
    assert "6 of 30 are likely to gain most from this lesson" in words
    assert "6 of 30 technicians at work" in words
    named = text(page("?names=yes"))
    assert sum(name in named for name in TECHNICIANS) >= 6
    assert "T01" in named
    assert "not fit for pay or discipline" in named
    assert named.index("can not say who works well") < named.index("Teach next")


@pytest.mark.parametrize("search", ["?names=no", "?names=", "?names=YES", "?lesson=held.fill_tube_frozen"])
def test_other_words_do_not_show_names(search: str) -> None:
    assert not any(name in text(page(search)) for name in TECHNICIANS)


def test_assumptions_stand_in_the_address_and_change_the_answer() -> None:
    usual, own = text(page()), text(page("?lesson_minutes=40&class_size=10"))
    assert "A lesson of 40 minutes for 10 technicians of 30" in own
    assert "2 assumptions of your own" in own
    assert usual != own
    kept = [link for link in links(page("?lesson_minutes=40&depot=north")) if "teaching_plan" in link]
    assert kept
    assert all("lesson_minutes=40" in link and "depot=north" in link for link in kept)


def test_every_form_keeps_what_the_others_hold() -> None:
    forms = [
        node["data-keep"]
        for node in nodes(page("?lesson_minutes=40&names=yes&depot=north"))
        if "data-keep" in node
    ]
    filters, lesson, assumed = forms
    assert "lesson_minutes=40" in filters
    assert "lesson_minutes=40" in lesson
    assert "names=yes" in lesson
    assert "depot=north" in lesson
    assert "depot=north" in assumed


def test_assumption_that_can_not_be_used_is_said_and_left_out() -> None:
    words = text(page("?gap_closed=120"))
    assert "Give a number from 0 to 100" in words
    assert "25 is taken" in words


def test_rules_and_new_technicians_stand_on_the_page() -> None:
    words = text(page())
    assert "calls of a cause" in words.lower()
    assert "In their first three months 1.47 times as many come back as expected (14 against 9.5)" in words
    assert "12 calls of technicians without a day of starting" in words


def test_habits_stand_beside_the_causes() -> None:
    words = text(page())
    assert "Technicians differ in 1 of 2 habits of checking" in words
    assert "600 of 800" in words
    assert "not recorded is not the same as not done" in words
    assert "33" not in words[words.index("Evidence for a valve") :].split("What steps")[0], (
        "no share of 3 calls"
    )


def test_nothing_loaded_is_a_state() -> None:
    assert "No calls fit these choices" in text(page(calls=0))


def test_file_that_names_people_opens_with_what_it_can_not_say() -> None:
    kept = Kept(FakeFleet())  # type: ignore[arg-type]
    people = kept.address("?table=teaching_people&lesson=thought.inlet_valve_seeping")
    assert "not fit for pay or discipline" in kept.opening(people)[0]
    assert next(kept.table("teaching_people", people))["technician"].len() == 30
    causes = kept.address("?table=teaching_causes")
    assert kept.opening(causes) == []
    assert "technician" not in next(kept.table("teaching_causes", causes)).columns
    assert next(kept.table("teaching_plan", causes)).height == 1
    assert next(kept.table("new_technicians", causes)).height == 4


@pytest.mark.parametrize("name", ["teaching_plan", "teaching_spread"])
def test_pictures_name_nobody(name: str) -> None:
    kept = Kept(FakeFleet())  # type: ignore[arg-type]
    drawn = str(kept.figure(name, kept.address("")))
    assert "nlet valve seeping" in drawn
    assert not any(f"'{technician}'" in drawn for technician in TECHNICIANS)
