"""The page of fair comparison: what it says of groups, and what it does not say of people."""

from dashboard.app import draw
from dashboard.figures.funnel import funnel
from dashboard.pages.tables import Kept
from tests.dashboard.fake_comparing import comparison
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.fake_frames import DEPOTS, TECHNICIANS
from tests.dashboard.reading import text


def shown(search: str = "", calls: int = 4480) -> str:
    return text(draw(FakeFleet(calls=calls), "/compare", search)[0])


def test_answer_names_what_lies_beyond_chance_and_says_why_rates_differ() -> None:
    words = shown()
    first = next(iter(DEPOTS.values()))
    assert "had more returns than their work explains, and more than chance" in words
    assert f"({first}: 1.60 times what was expected" in words
    assert "usual work: 8.0% expected of it, 8.0% of all; beyond chance" in words
    assert "usual work: 8.0% expected of it, 8.0% of all" in words.replace("; beyond chance", "", 1)


def test_people_are_opened_with_what_can_not_be_said_and_not_named_in_the_answer() -> None:
    words = shown("?by=technician")
    assert words.index("can not say who works well") < words.index("had more returns")
    answer = words[words.index("of 3 groups") if "of 3 groups" in words else 0 : words.index("How this was")]
    assert "1.60 times what was expected" not in answer
    figure = funnel(comparison("technician"), named=False)
    drawn = str(figure)
    assert not any(name in drawn for name in TECHNICIANS.values())


def test_group_with_few_calls_is_not_ranked() -> None:
    words = shown()
    assert "fewer than 20 calls" in words


def test_filters_of_other_pages_do_not_hold_here() -> None:
    assert shown("?depot=north&within=60") == shown("?within=60")


def test_week_is_not_offered_for_people() -> None:
    assert "the last week" in shown("?by=part")
    assert "the last week" not in shown("?by=technician&period=week")


def test_no_calls_is_a_state() -> None:
    assert "No calls fit these choices" in shown(calls=0)


def test_file_about_people_opens_with_what_it_can_not_say() -> None:
    kept = Kept(FakeFleet())  # type: ignore[arg-type]
    people = kept.address("?table=compared&by=technician")
    assert "not fit for pay or discipline" in kept.opening(people)[0]
    assert kept.opening(kept.address("?table=compared&by=depot")) == []
    assert "not adjusted" in kept.opening(kept.address("?table=groups&by=technician"))[0]
