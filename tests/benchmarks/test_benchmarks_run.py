"""The benchmark runs, on a fleet too small to measure anything, and says so when a target is missed."""

import pytest

from tests.benchmarks import page_updates
from tests.benchmarks.lines import Line, table
from tests.benchmarks.parts import Workplace, daily_load, headline_figures, whole_load


@pytest.mark.parametrize(
    ("values", "at_least", "passed", "worst"),
    [
        ((1.0, 3.0, 9.0), False, True, 9.0),
        ((1.0, 5.0, 9.0), False, False, 9.0),
        ((1.0, 5.0, 9.0), True, True, 1.0),
        ((1.0, 3.0, 9.0), True, False, 1.0),
    ],
)
def test_target_is_held_against_the_median(values, at_least, passed, worst):
    line = Line("load", "something", "s", values, 4, at_least)
    assert (line.passed, line.worst) == (passed, worst)
    assert ("**missed**" in table([line])) is not passed


def test_every_part_measures_something(tmp_path):
    place = Workplace(tmp_path, calls=1500, runs=1)
    lines = [
        *whole_load(place),
        *headline_figures(place),
        *daily_load(place),
        *page_updates.measure(place.store(), runs=1, wanted=6),
    ]
    assert {line.part for line in lines} == {"load", "memory", "figures", "daily", "pages"}
    assert all(value > 0 for line in lines for value in line.values)
