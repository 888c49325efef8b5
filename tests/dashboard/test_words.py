from datetime import date, datetime

import pytest

from dashboard import words


@pytest.mark.parametrize(
    ("share", "calls", "written"),
    [
        (None, 0, "no data"),
        (0.5, 4, ""),
        (0.4, 5, "40%"),
        (0.0707, 99, "7%"),
        (0.0709821, 4480, "7.1%"),
        (0.0, 100, "0.0%"),
        (1.0, 100, "100.0%"),
    ],
)
def test_percentage_has_the_digits_that_its_calls_can_carry(
    share: float | None, calls: int, written: str
) -> None:
    assert words.percent(share, calls) == written


def test_interval_is_written_with_one_sign() -> None:
    assert words.interval(0.0637, 0.0789, 4480) == "6.4 to 7.9%"
    assert words.interval(0.05, 0.41, 12) == "5 to 41%"
    assert words.interval(None, None, 0) == "no data"


def test_dates_are_written_as_on_a_letter() -> None:
    assert words.day(date(2026, 3, 3)) == "3 Mar 2026"
    assert words.month(date(2026, 12, 1)) == "Dec 2026"
    assert words.moment(datetime(2026, 3, 3, 14, 5)) == "3 Mar 2026, 14:05"
    assert words.moment(datetime(2026, 3, 3), has_time=False) == "3 Mar 2026"
    assert words.day(None) == words.month(None) == words.moment(None) == ""


def test_numbers_and_nouns() -> None:
    assert words.number(4480) == "4,480"
    assert words.number(None) == "no data"
    assert [words.counted(n, "call") for n in (0, 1, 412)] == ["0 calls", "1 call", "412 calls"]


def test_lists_read_as_in_a_sentence() -> None:
    assert words.listed([]) == ""
    assert words.listed(["North"]) == "North"
    assert words.listed(["North", "South", "Hills"], "or") == "North, South or Hills"


@pytest.mark.parametrize(
    ("p", "said"),
    [
        (0.066, "no more than chance may bring (chance of one as strong: 0.066)"),
        (0.03, "more than chance (chance of one as strong: 0.03)"),
        (6.7e-18, "more than chance (chance of one as strong: under 0.001)"),
    ],
)
def test_a_test_is_said_in_words(p: float, said: str) -> None:
    assert words.chance_words(p) == said
