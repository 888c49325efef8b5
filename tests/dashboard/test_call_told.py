"""What the model is told of a call in the browser: by the rules of the calls that it was fitted to."""

from typing import Any

import pytest

from tests.dashboard.fake_pack import fake_pack
from tests.dashboard.javascript import answer

FILES = ("call_told.js",)


def pack() -> dict[str, Any]:
    """The fixed pack, with the columns that a model may have beside what is asked."""
    whole = fake_pack()
    model = whole["model"]
    for name in (
        "complaint",
        "season",
        "filter_last_changed",
        "filter_kind",
        "problem_duration",
        "unheard_of",
    ):
        model["levels"][name] = {"": [0] * len(model["causes"])}
    for name in ("filter_age_began_days", "freezer_celsius"):
        model["smooth"][name] = model["smooth"]["unit_age_days"]
    return whole


def told(
    said: dict[str, str], known: dict[str, str] | None = None, day: str = "2026-03-01T12:00"
) -> dict[str, str]:
    expression = "serviceCalls.told.answers(pack, {said}, known, new Date(day))"
    return dict(answer(FILES, expression, pack=pack(), said=said, known=known or {}, day=day))


def test_complaint_is_one_level_and_each_symptom_a_yes_or_a_no() -> None:
    found = told({"symptom:small_cubes": "yes", "symptom:no_ice": "yes"})
    assert found["complaint"] == "no_ice+small_cubes"
    assert (found["symptom:no_ice"], found["symptom:leak_floor"]) == ("yes", "no")
    assert set(told({})) == {"season"}, "no complaint is not the same as none of them"


def test_what_was_said_stands_over_the_records_and_can_be_taken_back() -> None:
    known = {"supply_type": "well", "unit_age_days": "900"}
    assert told({}, known)["supply_type"] == "well"
    assert told({"supply_type": "town_water"}, known)["supply_type"] == "town_water"
    assert told({"supply_type": ""}, known)["supply_type"] == ""


@pytest.mark.parametrize(
    ("said", "level", "days"),
    [
        ({"problem_duration": "weeks"}, "weeks", "14"),
        ({"problem_duration": "today"}, "today", "0"),
        ({"problem_duration": "since_new"}, "since_new", None),
        ({"problem_duration_days": "0"}, "today", "0"),
        ({"problem_duration_days": "6"}, "days", "6"),
        ({"problem_duration_days": "21"}, "weeks", "21"),
        ({"problem_duration_days": "31"}, "months", "31"),
        ({"problem_duration_days": "31", "problem_duration": "comes_and_goes"}, "comes_and_goes", "31"),
    ],
)
def test_length_of_the_trouble_has_a_word_and_a_number(
    said: dict[str, str], level: str, days: str | None
) -> None:
    found = told(said)
    assert (found["problem_duration"], found.get("problem_duration_days")) == (level, days)


def test_filter_has_an_age_when_the_trouble_began() -> None:
    found = told({"filter_age_days": "200", "problem_duration_days": "30"})
    assert (found["filter_age_began_days"], found["filter_last_changed"]) == ("170", "months")
    changed_since = told({"filter_age_days": "10", "problem_duration_days": "30"})
    assert "filter_age_began_days" not in changed_since, "the filter before is not known"


def test_filter_never_changed_is_as_old_as_the_unit() -> None:
    said = {"filter_last_changed": "never", "filter_kind": "in_unit"}
    assert told(said, {"unit_age_days": "900"})["filter_age_days"] == "900"
    unsure = told({"filter_last_changed": "never"}, {"unit_age_days": "900"})
    assert "filter_age_days" not in unsure, "there may be no filter at all"
    assert "filter_age_days" not in told({"filter_last_changed": "never"})


@pytest.mark.parametrize("said", [{"filter_kind": "bypass_or_none"}, {"supply_type": "reverse_osmosis"}])
def test_where_there_is_no_filter_it_has_no_age(said: dict[str, str]) -> None:
    found = told({**said, "filter_age_days": "200"})
    assert found["filter_last_changed"] == "no_filter"
    assert "filter_age_days" not in found


@pytest.mark.parametrize(
    ("day", "season"),
    [("2026-12-01", "winter"), ("2026-02-28", "winter"), ("2026-03-01", "spring"), ("2026-08-31", "summer"),
     ("2026-09-01", "autumn"), ("2026-11-30", "autumn")],
)  # fmt: skip
def test_season_is_that_of_the_call(day: str, season: str) -> None:
    assert told({}, day=f"{day}T12:00")["season"] == season


def test_what_the_model_does_not_know_is_left_out() -> None:
    assert "shoe_size" not in told({"shoe_size": "44"})


def test_season_counted_from_january_is_caught() -> None:
    twin = (".getMonth() + 1) % 12) / 3", ".getMonth()) % 12) / 3")
    expression = "serviceCalls.told.answers(pack, {said: {}}, {}, new Date('2026-12-01T12:00'))"
    with pytest.raises(AssertionError):
        assert answer(FILES, expression, twin, pack=pack())["season"] == "winter"


def test_of_a_change_told_and_one_recorded_the_later_counts() -> None:
    assert told({"filter_age_days": "200"}, {"filter_age_days": "60"})["filter_age_days"] == "60"
    assert told({"filter_age_days": "60"}, {"filter_age_days": "200"})["filter_age_days"] == "60"


def test_change_recorded_on_the_day_the_trouble_began_does_not_count() -> None:
    ill = {"problem_duration_days": "30"}
    assert "filter_age_began_days" not in told(ill, {"filter_age_days": "30"})
    assert told(ill | {"filter_age_days": "30"})["filter_age_began_days"] == "0"
