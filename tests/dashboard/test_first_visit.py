"""The page on first visits: its answer, what stands in without visits, and what it says of parts."""

from dashboard.app import draw
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import links, text


def shown(search: str = "", fleet: FakeFleet | None = None) -> str:
    return text(draw(fleet or FakeFleet(), "/first-visit", search)[0])  # type: ignore[arg-type]


def test_answer_has_numbers_reason_and_telephone() -> None:
    words = shown()
    assert "were fixed the first time (" in words
    assert "where somebody let us in" in words
    assert "What spoils them most: second trip for a part ( 560 of 1,063 not fixed the first time)" in words
    assert "224 repairs were completed without a visit: by telephone" in words


def test_parts_are_named_with_what_they_save() -> None:
    words = shown()
    assert "With inlet valve and filter of the unit always aboard, 336 of 504 second trips" in words
    page = draw(FakeFleet(), "/first-visit", "?depot=north")[0]  # type: ignore[arg-type]
    assert "/calls?depot=north&part=inlet_valve&subset=second_trips" in links(page)


def test_without_visits_nothing_is_called_first_time_fix() -> None:
    fleet = FakeFleet()
    fleet.visits_loaded = False
    words = shown(fleet=fleet)
    assert "were closed without a return" in words
    assert "not to be compared with one" in words
    assert "were fixed the first time" not in words
    assert "by telephone" not in words


def test_few_calls_get_no_percentage() -> None:
    assert "too few" in shown(fleet=FakeFleet(calls=8))


def test_people_open_with_what_can_not_be_said_and_none_is_singled_out() -> None:
    words = shown("?by=technician")
    assert words.index("can not say who works well") < words.index("were fixed the first time")
    assert "Most first visits that failed" not in words
