"""The order of checks: options, ties, what is left out, and how good and quick it is with many checks."""

import time
from dataclasses import replace

import numpy as np
import pytest

from analytics.causes import order, order_exact
from analytics.causes.order import WAIT, minutes_by_cause, minutes_of, order_of_checks
from analytics.causes.order_problem import ready
from analytics.causes.order_search import minutes_of_many, ratio_rule
from analytics.causes.order_walk import best_walk
from analytics.errors import BadQuestion
from tests.analytics.causes.made_facts import facts_of, like_a_catalogue, one_each, posterior


def test_each_step_says_what_it_costs_and_what_it_finds() -> None:
    facts = facts_of(
        [4, 2],
        [[0.9, 0], [0, 0.5]],
        beside=[15, 0],
        setups=[["pulled_out"], ["front"]],
        false=[0, 0.01],
        visit=60,
    )
    found = order_of_checks(facts, [0.9, 0.1])
    first, second = found.steps
    # pulled out 8 minutes, 4 hands-on; then 2 beside the wait of 15, which is over at 27
    assert (first.check, first.setup, first.setup_minutes, first.minutes) == ("c0", "pulled_out", 8, 4)
    assert (first.clock_minutes, second.clock_minutes) == (27, 14)
    assert (second.check, second.setup, second.finds) == ("c1", "", pytest.approx(0.05))
    # a false finding of c1 ends the visit before the result of c0 is there
    assert first.finds == pytest.approx(0.9 * 0.9 * 0.99)
    assert second.unfound == pytest.approx(0.95)
    assert first.unfound == pytest.approx(0.95 - 0.8019)
    # found by c1, led astray by it, found by c0, unfound: minutes of each by hand
    by_hand = 0.05 * 14 + 0.0095 * (14 + 60) + 0.8019 * 27 + (1 - 0.05 - 0.0095 - 0.8019) * (27 + 60)
    assert found.expected_minutes == pytest.approx(by_hand)
    assert (found.exact, found.gap) == (True, 0)


def test_the_technician_waits_where_nothing_else_is_worth_making() -> None:
    facts = facts_of([2, 30], [[1, 0.5], [1, 1]], beside=[5, 0], visit=1000)
    found = order_of_checks(facts, [0.9, 0.1])
    assert found.sequence == ("c0", WAIT, "c1")
    assert found.steps[1].waits_first == 5
    assert found.expected_minutes == pytest.approx(0.95 * 7 + 0.05 * 37)


def test_stopping_is_better_than_checks_that_cost_more_than_they_find() -> None:
    facts = facts_of([50, 5], [[0.5, 0.5], [0.9, 0]], visit=60)
    found = order_of_checks(facts, [0.8, 0.2])
    assert found.sequence == ("c1",)
    assert order_of_checks(replace(facts, second_visit_minutes=1.0), [0.8, 0.2]).sequence == ()
    assert order_of_checks(replace(facts, second_visit_minutes=1.0), [0.8, 0.2]).expected_minutes == 1


def test_a_check_without_a_chance_is_not_made() -> None:
    assert order_of_checks(one_each([5, 1, 5]), [0.6, 0, 0.4]).sequence == ("c0", "c2")


def test_nothing_to_check() -> None:
    found = order_of_checks(facts_of([], np.zeros((0, 2)), visit=60), [0.5, 0.5])
    assert (found.steps, found.expected_minutes, found.exact) == ((), 60, True)


def test_checks_without_minutes_come_first() -> None:
    for count in (4, 12):
        minutes = [3.0] * count
        minutes[-1] = 0.0
        found = order_of_checks(one_each(minutes), np.ones(count))
        assert found.sequence[0] == f"c{count - 1}"
    everything_free = order_of_checks(one_each([0.0] * 3), [0.2, 0.3, 0.5])
    assert (everything_free.expected_minutes, everything_free.gap) == (0, 0)


def test_of_equals_the_first_in_the_facts_goes_first() -> None:
    for count in (5, 12):
        found = order_of_checks(one_each([4.0] * count), np.ones(count))
        assert found.sequence == tuple(f"c{at}" for at in range(count))
    twice = facts_of([4, 4], [[1], [1]])
    assert order_of_checks(twice, [1]).sequence == ("c0",)


def test_longer_minutes_throughout_change_the_minutes_and_not_the_order() -> None:
    rng = np.random.default_rng(4)
    facts, p = like_a_catalogue(rng, 7, 6), posterior(rng, 6)
    longer = replace(
        facts, minutes=facts.minutes * 3, beside_minutes=facts.beside_minutes * 3,
        setup_minutes={name: minutes * 3 for name, minutes in facts.setup_minutes.items()},
        second_visit_minutes=facts.second_visit_minutes * 3,
    )  # fmt: skip
    one, three = order_of_checks(facts, p), order_of_checks(longer, p)
    assert three.sequence == one.sequence
    assert three.expected_minutes == pytest.approx(3 * one.expected_minutes)


def test_a_set_up_in_place_is_not_paid() -> None:
    facts = facts_of([4, 4], np.eye(2), setups=[["pulled_out"], ["kick_plate", "pulled_out"]])
    assert order_of_checks(facts, [0.5, 0.5]).expected_minutes == pytest.approx(8 + 6)
    assert order_of_checks(facts, [0.5, 0.5], paid=["pulled_out"]).expected_minutes == pytest.approx(6)
    # the kick plate does for the second alone
    assert order_of_checks(facts, [0.5, 0.5], paid=["kick_plate"]).sequence == ("c1", "c0")


def test_checks_made_count_as_made_without_a_finding() -> None:
    facts = facts_of([4, 6, 5], [[0.8, 0, 0], [0, 1, 0], [0, 0, 1]])
    found = order_of_checks(facts, [0.5, 0.3, 0.2], made=["c0"])
    left = np.array([0.1, 0.3, 0.2]) / 0.6
    assert found.expected_minutes == pytest.approx(
        order_of_checks(replace(facts, reveals=facts.reveals * [[0], [1], [1]]), left).expected_minutes
    )
    assert "c0" not in found.sequence


def test_the_last_cause_left_is_found_without_its_check() -> None:
    assert order_of_checks(one_each([10, 10]), [0.5, 0.5], implied=True).expected_minutes == 10
    alone = order_of_checks(one_each([10, 10]), [0, 1], implied=True)
    assert (alone.expected_minutes, alone.sequence) == (0, ())
    many = order_of_checks(one_each([10.0] * 10), np.ones(10), implied=True)
    assert many.expected_minutes == pytest.approx(sum(range(1, 10)) + 9)
    assert many.bound <= many.expected_minutes


def test_codes_that_do_not_exist_are_said() -> None:
    facts = one_each([1, 2])
    for wrong in ({"made": ["guess"]}, {}):
        with pytest.raises(BadQuestion, match="guess"):
            minutes_of(facts, [0.5, 0.5], ["guess"], **wrong)


def test_a_check_made_twice_in_a_sequence_counts_once() -> None:
    facts = one_each([3, 5])
    assert minutes_of(facts, [0.5, 0.5], ["c0", "c0", "c1"]) == minutes_of(facts, [0.5, 0.5], ["c0", "c1"])


def test_minutes_by_cause_make_up_the_expected_minutes() -> None:
    rng = np.random.default_rng(8)
    facts, p = like_a_catalogue(rng, 6, 5), posterior(rng, 5)
    sequence = ["c3", "c1", WAIT, "c5"]
    each = minutes_by_cause(facts, p, sequence)
    assert each.shape == (5,)
    assert float(p @ each) == pytest.approx(minutes_of(facts, p, sequence))


@pytest.mark.parametrize("implied", [False, True])
def test_many_sequences_at_once_are_worth_what_each_is(implied: bool) -> None:
    rng = np.random.default_rng(6)
    # one set-up a check, so that the walk has no choice
    facts = like_a_catalogue(rng, 9, 4)
    facts = replace(
        facts, setups=tuple(names[:1] for names in facts.setups),
        reveals=np.where(rng.random(facts.reveals.shape) < 0.3, 1.0, facts.reveals),
    )  # fmt: skip
    problem = ready(facts, posterior(rng, 4), implied=implied)
    _, setups = ratio_rule(problem)
    sequences = np.array([rng.permutation(9) for _ in range(30)])
    sequences[::2, 5:] = 9
    told = minutes_of_many(problem, setups, sequences)
    for sequence, minutes in zip(sequences, told, strict=True):
        walk = best_walk(problem, [int(check) for check in sequence if check < 9])
        assert minutes == pytest.approx(float(problem.weights @ walk[1]))


def test_beyond_eight_checks_the_order_is_close_to_the_best(monkeypatch) -> None:
    excess = []
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        facts, p = like_a_catalogue(rng, 10, 9), posterior(rng, 9)
        found = order_of_checks(facts, p)
        assert not found.exact
        with monkeypatch.context() as wider:
            wider.setattr(order, "EXACT", 10)
            wider.setattr(order_exact, "MOST_STATES", 10**6)
            best = order_of_checks(facts, p)
        assert best.exact
        assert found.bound <= best.expected_minutes + 1e-7 <= found.expected_minutes + 2e-7
        assert found.gap >= 1 - best.expected_minutes / found.expected_minutes - 1e-9
        excess.append(found.expected_minutes / best.expected_minutes - 1)
    assert np.mean(excess) < 0.01
    assert max(excess) < 0.05


def test_too_many_states_give_a_good_order_and_a_bound(monkeypatch) -> None:
    rng = np.random.default_rng(1)
    facts, p = like_a_catalogue(rng, 8, 6), posterior(rng, 6)
    best = order_of_checks(facts, p)
    monkeypatch.setattr(order_exact, "MOST_STATES", 5)
    found = order_of_checks(facts, p)
    assert (best.exact, found.exact) == (True, False)
    assert found.bound <= best.expected_minutes <= found.expected_minutes + 1e-9


@pytest.mark.benchmark
def test_an_order_is_found_while_nobody_notices() -> None:
    for checks, causes, most in ((8, 8, 0.2), (28, 30, 0.03)):
        taken = []
        for seed in range(10):
            rng = np.random.default_rng(seed)
            facts, p = like_a_catalogue(rng, checks, causes), posterior(rng, causes)
            started = time.process_time()
            order_of_checks(facts, p)
            taken.append(time.process_time() - started)
        assert np.median(taken) < most
