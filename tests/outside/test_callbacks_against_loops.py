"""Callbacks, first-time fix, episodes and filter ages of random fleets, against plain loops written apart."""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics import queries
from tests.outside import program
from tests.outside.comparing import by_loops, by_program, differ, differences
from tests.outside.random_fleets import beside, fixed_fleets, fleets
from tests.outside.twins import TWINS, broken


@cache
def a_hundred_fleets() -> tuple[dict, dict]:
    """The same fleets at every run, and what the loops say of them."""
    fleet = fixed_fleets(range(100))
    return fleet, by_loops(fleet)


@settings(max_examples=10, deadline=None, derandomize=True)
@given(drawn=st.lists(fleets(), min_size=1, max_size=4))
def test_program_and_loops_agree_on_random_fleets(drawn):
    fleet = beside(drawn)
    assert differences(by_loops(fleet), by_program(program.built(fleet))) == []


def test_program_and_loops_agree_on_a_hundred_fixed_fleets():
    fleet, loops = a_hundred_fleets()
    connection = program.built(fleet)
    assert differences(loops, by_program(connection)) == []
    assert not differ(loops, connection), "a twin would be caught for nothing"


def test_program_and_loops_agree_where_few_times_are_known():
    fleet = fixed_fleets(range(100, 130), timed_share=3)
    assert differences(by_loops(fleet), by_program(program.built(fleet))) == []


def test_program_and_loops_agree_when_half_of_the_calls_come_later():
    fleet, loops = a_hundred_fleets()
    assert differences(loops, by_program(program.built_in_two_steps(fleet))) == []


@pytest.mark.parametrize("twin", TWINS, ids=lambda twin: twin.name)
def test_every_broken_twin_is_caught(twin, monkeypatch):
    fleet, loops = a_hundred_fleets()
    monkeypatch.setattr(queries, "statement", broken(twin))
    assert differ(loops, program.built(fleet))
