"""Rearranging who was treated, against SciPy's own permutation test, by hand, and a variant that is wrong."""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.permutation import MOST_ARRANGEMENTS, arrangements, permuted_difference

TREATED = np.array([True] * 5 + [False] * 7)


def values(seed: int = 3) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=12) + np.where(TREATED, 0.8, 0.0)


def welch(one: np.ndarray, other: np.ndarray, axis: int) -> np.ndarray:
    return np.abs(stats.ttest_ind(one, other, axis=axis, equal_var=False).statistic)


@pytest.mark.parametrize("seed", range(4))
def test_of_equal_weights_it_is_the_permutation_test_of_scipy(seed: int) -> None:
    """SciPy rearranges for any statistic; Welch's is ours where all weights are one."""
    found = values(seed)
    expected = stats.permutation_test(
        (found[TREATED], found[~TREATED]), welch, n_resamples=np.inf, alternative="greater", vectorized=True
    )
    assert permuted_difference(found, np.ones(12), TREATED).p == pytest.approx(expected.pvalue, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_interval_holds_what_the_test_does_not_refuse(seed: int) -> None:
    found, weights = values(seed), np.random.default_rng(seed).uniform(0.5, 3, 12)
    wanted = permuted_difference(found, weights, TREATED)
    assert wanted.low < wanted.estimate < wanted.high
    for end, inwards in ((wanted.low, 0.02), (wanted.high, -0.02)):
        shifted = [found - TREATED * (end + by) for by in (inwards, -inwards)]
        inside, outside = (permuted_difference(each, weights, TREATED).p for each in shifted)
        assert inside > 0.05 >= outside


def test_estimate_is_the_difference_of_weighted_means_by_hand() -> None:
    found = permuted_difference([1, 4, 2, 2], [3, 1, 1, 1], [True, True, False, False])
    assert found.estimate == pytest.approx((3 * 1 + 4) / 4 - 2)
    assert found.arrangements == 6


def test_moving_everybody_moves_nothing_and_order_does_not_matter() -> None:
    found, weights = values(), np.linspace(1, 2, 12)
    first = permuted_difference(found, weights, TREATED)
    moved = permuted_difference(found + 7, weights, TREATED)
    assert moved.low == pytest.approx(first.low, abs=1e-3)
    back = slice(None, None, -1)
    again = permuted_difference(found[back], weights[back], TREATED[back])
    assert (again.estimate, again.p) == (pytest.approx(first.estimate), pytest.approx(first.p))


def test_nothing_that_varies_gives_no_difference() -> None:
    found = permuted_difference([0] * 12, [1] * 12, TREATED)
    assert (found.estimate, found.p) == (0, 1)
    assert found.low == pytest.approx(0, abs=1e-6)


def test_many_persons_are_rearranged_by_chance_and_always_the_same_way() -> None:
    rows = arrangements(30, 10)
    assert rows.shape == (MOST_ARRANGEMENTS, 30)
    assert set(rows.sum(axis=1)) == {10}
    assert rows[0].tolist() == [1.0] * 10 + [0.0] * 20
    assert arrangements(12, 5)[0].tolist() == [1.0] * 5 + [0.0] * 7
    assert len(np.unique(arrangements(12, 5), axis=0)) == 792


@pytest.mark.parametrize("treated", [[True] * 4, [True, False, False, False], [False] * 4])
def test_too_few_are_refused(treated: list[bool]) -> None:
    with pytest.raises(ValueError, match="two treated"):
        permuted_difference([1, 2, 3, 4], [1] * 4, treated)


def refused(studentised: bool, fleets: int = 300) -> float:
    """Share of fleets refused in which the few treated vary four times as much and nothing differs."""
    count = 0
    for seed in range(fleets):
        draw = np.random.default_rng(seed)
        found = draw.normal(size=20) * np.where(np.arange(20) < 5, 4, 1)
        inside = arrangements(20, 5)[::31]  # the first is what happened
        difference = inside @ found / 5 - (1 - inside) @ found / 15
        plain = (np.abs(difference) >= abs(difference[0]) - 1e-12).mean()
        treated = np.arange(20) < 5
        p = permuted_difference(found, np.ones(20), treated).p if studentised else plain
        count += p <= 0.05
    return count / fleets


def test_groups_that_vary_unequally_are_borne_and_a_plain_difference_is_caught() -> None:
    assert refused(studentised=True) <= 0.10
    assert refused(studentised=False) > 0.15
