"""With nothing lost to the end of the records, the curve at the end of the window is the callback rate.

On units whose times are all of one kind, with or without a time of day: where the kinds mix, a return can
count against one call within 30 days and against another within 60, and no single curve follows that.
"""

from collections import defaultdict
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given, settings

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from analytics.fleet import Fleet
from analytics.questions import ringing_again
from tests.outside.program import built, facade_that_keeps
from tests.outside.random_fleets import fixed_fleets, fleets

TIMES = {"opened": time(1), "closed": time(23)}


def with_times(fleet: dict) -> dict:
    """Give what is only a date a time of day, on units that have both kinds."""
    kinds = defaultdict(set)
    for call in fleet["calls"]:
        kinds[call["unit_id"]] |= {isinstance(call[field], datetime) for field in TIMES if call[field]}

    def timed(call: dict, field: str) -> datetime | date | None:
        value = call[field]
        if value is None or isinstance(value, datetime) or len(kinds[call["unit_id"]]) == 1:
            return value
        return datetime.combine(value, TIMES[field])

    calls = [call | {field: timed(call, field) for field in TIMES} for call in fleet["calls"]]
    return fleet | {"calls": calls}


def held_together(fleet: Fleet) -> int:
    """Compare curve and rate over the calls that can all be judged; return how many came back in all."""
    came_back = 0
    ends = [end.ends_at for end in fleet.observation_ends()]
    for window in WINDOWS_DAYS if ends else ():
        last = (min(ends) - timedelta(days=window + 1)).date()
        figures = fleet.figures(Filters(window_days=window, closed_to=last))
        rates = {"family": figures.callback_rate_family, "any": figures.callback_rate_any}
        for match in MATCHES:
            rate, filters = rates[match], Filters(window_days=window, match=match, closed_to=last)
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
    many = (with_times(fixed_fleets(range(seed, seed + 1))) for seed in range(20))
    assert sum(held_together(facade_that_keeps(built(fleet))) for fleet in many) > 25


@settings(max_examples=25, deadline=None)
@given(fleets())
def test_any_fleet(fleet: dict) -> None:
    held_together(facade_that_keeps(built(with_times(fleet))))
