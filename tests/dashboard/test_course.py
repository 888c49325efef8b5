from datetime import date

import pytest

from analytics.filters import Filters
from analytics.questions.half_years import HalfYears
from dashboard.components.course import course
from tests.dashboard.fake_fleet import rate
from tests.dashboard.reading import links, text


def found(now: int, before: int, low: float, high: float, calls: int = 1000) -> HalfYears:
    difference = (now - before) / calls
    return HalfYears(
        rate(now, calls), rate(before, calls), date(2026, 1, 1), date(2025, 7, 1), difference, low, high
    )


@pytest.mark.parametrize(
    ("half_years", "says"),
    [
        (
            found(70, 95, -0.05, -0.001),
            "7.0% came back, down from 9.5% in the six before: the drop is more than chance.",
        ),
        (
            found(95, 70, 0.001, 0.05),
            "9.5% came back, up from 7.0% in the six before: the rise is more than chance.",
        ),
        (
            found(70, 72, -0.03, 0.02),
            "7.0% came back, down from 7.2% in the six before: no more than chance may bring.",
        ),
        (
            found(70, 70, -0.02, 0.02),
            "7.0% came back, as against 7.0% in the six before: no more than chance may bring.",
        ),
    ],
)
def test_course_is_said_with_its_verdict(half_years: HalfYears, says: str) -> None:
    assert text(course(Filters(), half_years)).endswith(says)


def test_shares_open_the_calls_of_their_half_year() -> None:
    words = course(Filters(depots=("north",)), found(70, 95, -0.05, -0.001))
    assert links(words) == [
        "/calls?depot=north&from=2026-01&to=2026-06&subset=came_back",
        "/calls?depot=north&from=2025-07&to=2025-12&subset=came_back",
    ]


def test_nothing_is_said_of_too_few_calls_or_months() -> None:
    assert course(Filters(), None) == []
    assert course(Filters(), found(1, 2, -0.9, 0.9, calls=4)) == []
