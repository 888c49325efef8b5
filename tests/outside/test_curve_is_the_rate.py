"""With nothing lost to the end of the records, the curve at the end of the window is the callback rate."""

from datetime import timedelta

import pytest
from hypothesis import given, settings

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from analytics.fleet import Fleet
from analytics.questions import ringing_again
from tests.outside.program import built, facade
from tests.outside.random_fleets import fixed_fleets, fleets


def held_together(fleet: Fleet) -> int:
    """Compare curve and rate over the calls that can all be judged; return how many came back in all."""
    came_back = 0
    ends = [end.ends_at for end in fleet.observation_ends()]
    for window in WINDOWS_DAYS if ends else ():
        last = (min(ends) - timedelta(days=window + 1)).date()
        for match in MATCHES:
            filters = Filters(window_days=window, match=match, closed_to=last)
            rate = fleet.figures(filters).callback_rate
            assert rate.inside_window == 0
            if not rate.denominator:
                continue
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(ringing_again, "LEAST_AT_RISK", 1)
                whole = fleet.ringing_again(filters).whole
            assert whole.calls == rate.denominator
            (share,) = whole.marks.filter(whole.marks["days"] == window)["share"]
            assert share == pytest.approx(rate.numerator / rate.denominator)
            came_back += rate.numerator
    return came_back


def test_many_fleets() -> None:
    assert sum(held_together(facade(built(fixed_fleets(range(seed, seed + 1))))) for seed in range(40)) > 50


@settings(max_examples=25, deadline=None)
@given(fleets())
def test_any_fleet(fleet: dict) -> None:
    held_together(facade(built(fleet)))
