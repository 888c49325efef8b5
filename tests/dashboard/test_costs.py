"""The page on costs: its answer, its assumptions in the address, and what it refuses."""

from dashboard.app import draw
from dashboard.components.money import money
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import links, nodes, plain, text


def page(search: str = "", calls: int = 4480) -> list:
    return plain(draw(FakeFleet(calls=calls), "/costs", search)[0])  # type: ignore[arg-type]


def test_answer_has_money_a_year_each_and_intervals() -> None:
    """Each return as made up: 50 minutes, travel 40, office 10, a part of 60: 160; 358 in two years."""
    words = text(page())
    assert "Returns cost 28,640 a year (95% interval" in words
    assert "160 each (95% interval" in words
    assert "358 of 4,480 repairs came back, with 358 returns" in words
    assert "would save about" in words


def test_assumptions_stand_in_the_address_and_change_the_answer() -> None:
    words = text(page("?hour_price=120"))
    assert "240 each" in words  # 80 minutes an hour's price more
    assert "1 assumption of your own" in words
    assert "instead of 60" in words
    kept = [link for link in links(page("?hour_price=120&depot=north")) if "costed_returns" in link]
    assert all("hour_price=120" in link and "depot=north" in link for link in kept)
    assert kept


def test_every_form_keeps_what_the_others_hold() -> None:
    forms = [
        node["data-keep"]
        for node in nodes(page("?hour_price=120&by=depot&depot=north"))
        if "data-keep" in node
    ]
    assert len(forms) == 3
    filters, grouping, assumed = forms
    assert "hour_price=120" in filters
    assert "by=depot" in filters
    assert "hour_price=120" in grouping
    assert "depot=north" in grouping
    assert "by=depot" in assumed
    assert "depot=north" in assumed


def test_assumption_that_can_not_be_used_is_said_and_left_out() -> None:
    for value in ("-1", "much", "1e9", "nan"):
        words = text(page(f"?hour_price={value}"))
        assert "Give a number from 0 to 10000" in words
        assert "60 is taken" in words
        assert "160 each" in words


def test_final_causes_have_no_rate_and_no_saving() -> None:
    words = text(page("?by=final_cause"))
    assert "Halved, saves" not in words
    assert "would save" not in words


def test_few_returns_get_no_interval() -> None:
    words = text(page(calls=40))
    assert "too few for an interval" in words
    assert "nan" not in words


def test_no_calls_is_a_state() -> None:
    assert "No calls fit these choices" in text(page(calls=0))


def test_money_has_digits_where_they_matter() -> None:
    assert [money(each) for each in (1243.4, 9.5, 0.0, None)] == ["1,243", "9.50", "0", "no data"]
