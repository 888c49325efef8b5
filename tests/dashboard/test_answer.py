from analytics.filters import Filters
from dashboard.components.answer import rate_in_words, too_soon
from tests.dashboard.fake_fleet import rate
from tests.dashboard.reading import links, text

FILTERS = Filters(depots=("north",))


def said(numerator: int, denominator: int) -> str:
    words = rate_in_words(rate(numerator, denominator), "came back", FILTERS, "came_back", "judged")
    return text(words)


def test_a_rate_is_said_with_counts_and_interval() -> None:
    assert said(318, 4480) == "7.1% came back ( 318 of 4,480 ; 95% interval 6.4 to 7.9%)"
    assert said(3, 40) == "8% came back ( 3 of 40 ; 95% interval 3 to 20%)"


def test_a_few_calls_get_no_percentage() -> None:
    assert said(1, 4) == "1 of 4 came back: too few calls for a percentage"


def test_nothing_to_judge_is_said() -> None:
    assert "Too soon to say" in said(0, 0)
    assert "nan" not in said(0, 0)


def test_each_number_opens_its_calls() -> None:
    words = rate_in_words(rate(318, 4480), "came back", FILTERS, "came_back", "judged")
    assert links(words) == ["/calls?depot=north&subset=came_back", "/calls?depot=north&subset=judged"]


def test_calls_too_young_are_said_and_linked() -> None:
    words = too_soon(rate(1, 10, inside_window=412), FILTERS)
    assert text(words).startswith("412 calls are too soon to say")
    assert links(words) == ["/calls?depot=north&subset=inside_window"]
    assert too_soon(rate(1, 10), FILTERS) == []
