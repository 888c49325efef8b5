"""The greedy set of parts against every possible set, and against a coarser rule it must beat."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics import covering
from analytics.statistics.covering import greedy_cover

THINGS = 5
NEEDS = st.lists(
    st.tuples(st.sets(st.integers(0, THINGS - 1), min_size=1, max_size=3), st.integers(1, 20)), min_size=1
)


def best_of_all(needs: list[tuple[set[int], int]], size: int) -> int:
    """Most needs met by any set of so many things, by trying each."""
    return max(
        sum(count for asked, count in needs if asked <= set(aboard))
        for aboard in combinations(range(THINGS), min(size, THINGS))
    )


def steps_of(needs: list[tuple[set[int], int]], most: int) -> list[tuple[list[int], int]]:
    asked = [[thing in one for thing in range(THINGS)] for one, _ in needs]
    return greedy_cover(asked, [count for _, count in needs], most)


def met(needs: list[tuple[set[int], int]], steps: list[tuple[list[int], int]]) -> int:
    aboard = {thing for things, _ in steps for thing in things}
    return sum(count for asked, count in needs if asked <= aboard)


@given(NEEDS, st.integers(1, THINGS))
def test_says_what_is_met_and_never_more_than_the_best(needs, most):
    steps = steps_of(needs, most)
    assert sum(len(things) for things, _ in steps) <= most
    if steps:
        assert steps[-1][1] == met(needs, steps) <= best_of_all(needs, most)
    gains = [saved for _, saved in steps]
    assert gains == sorted(set(gains)), "each step gains something"


@given(st.lists(st.integers(1, 50), min_size=THINGS, max_size=THINGS), st.integers(1, THINGS))
def test_is_the_best_where_each_need_asks_for_one_thing(counts, most):
    needs = [({thing}, count) for thing, count in enumerate(counts)]
    assert steps_of(needs, most)[-1][1] == best_of_all(needs, most)


def test_things_that_only_help_together_are_added_together():
    assert steps_of([({0, 1}, 9), ({2}, 2)], 3) == [([0, 1], 9), ([2], 11)]
    assert steps_of([({0, 1}, 9), ({2}, 2)], 1) == [([2], 2)]


def test_with_everything_aboard_everything_is_met():
    assert steps_of([({0}, 3), ({1, 2, 3}, 4), ({4}, 1)], THINGS)[-1][1] == 8


def test_nothing_to_choose_from():
    assert greedy_cover(np.zeros((0, 0)), [], 3) == []


def test_need_counted_as_met_by_half_of_it_is_caught(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(
        covering, "_met", lambda asked, often, loads: often @ (asked.astype(int) @ loads.T.astype(int) > 0)
    )
    needs = [({0, 1}, 9), ({0}, 1)]
    steps = steps_of(needs, 1)
    assert steps[-1][1] != met(needs, steps)
