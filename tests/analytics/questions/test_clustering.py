"""Design effects of the figures: by hand, by group, and from a sample of units."""

import pytest

from analytics.filters import Filters
from analytics.questions import clustering
from analytics.questions.clustering import sample_for
from tests.analytics.small_fleet import SmallFleet


def pairs(units: int = 100) -> SmallFleet:
    """Each unit has two judged calls of one month; every fifth unit's calls both come back."""
    fleet = SmallFleet()
    for unit in range(units):
        for number, day in enumerate((1, 11, 21)):
            if number < 2 or unit % 5 == 0:
                outcome = "repaired" if number < 2 else "cancelled"
                complaint = "no_ice" if unit % 5 == 0 else f"{'no_ice' if number else 'leak_floor'}"
                fleet.call(
                    f"C{unit}-{number}",
                    f"U{unit}",
                    opened=f"2026-01-{day:02d} 09:00",
                    complaint=complaint,
                    outcome=outcome,
                    technician_id="ann" if unit % 2 else "bob",
                )
    fleet.ends("2026-06-01")
    return fleet.build()


def test_calls_of_a_unit_that_come_back_together_count_half() -> None:
    """200 judged calls in pairs, 40 came back, both of a pair or none: an effect of 2, times 100 / 99."""
    found = pairs().fleet.figures(Filters()).callback_rate
    assert (found.numerator, found.denominator) == (40, 200)
    assert found.design_effect == pytest.approx(2 * 100 / 99)


def test_by_group_units_are_taken_within_the_group() -> None:
    groups = pairs().fleet.figures(Filters(), by="technician").groups
    assert {group.group for group in groups} == {"ann", "bob"}
    for group in groups:
        assert group.callback_rate.design_effect == pytest.approx(2 * 50 / 49)


def test_a_sample_says_about_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    fleet = pairs(600)
    whole = fleet.fleet.figures(Filters())
    monkeypatch.setattr(clustering, "CALLS_WANTED", 600)
    sampled = fleet.fleet.figures(Filters())
    assert sampled.callback_rate.numerator == whole.callback_rate.numerator  # counts are never sampled
    assert sampled.callback_rate.design_effect != whole.callback_rate.design_effect
    assert sampled.callback_rate.design_effect == pytest.approx(whole.callback_rate.design_effect, rel=0.15)
    assert any("sample" in note for note in sampled.notes)


@pytest.mark.parametrize(("calls", "sample"), [(0, 64), (40_000, 64), (41_000, 63), (10_000_000, 1)])
def test_sample(calls: int, sample: int) -> None:
    assert sample_for(calls) == sample
