"""The order of checks against numbers by brute force, Smith's rule, and every plan with every outcome."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.causes import order, order_bound, order_exact, order_problem, order_walk
from analytics.causes.facts import CheckFacts
from analytics.causes.order import WAIT, minutes_by_cause, minutes_of, order_of_checks
from tests.analytics.causes.made_facts import facts_of, like_a_catalogue, one_each, posterior
from tests.outside.plain_checks import Case, by_cause, least_minutes, random_case

# Expected cost of repair, brute force over all permutations (no published numbers could be read). The rule:
# Kadane JB, Simon HA (1977), Annals of Statistics 5:237-255; Kalagnanam J, Henrion M (1988), UAI 4.
COST_OF_REPAIR = [
    ([0.45, 0.25, 0.2, 0.1], [60, 20, 30, 5], [4, 2, 1, 3], 68.0, 85.5, 80.5, 69.5, 62.0),
    (
        [0.3, 0.22, 0.18, 0.15, 0.1, 0.05], [25, 10, 45, 5, 8, 40], [4, 2, 5, 1, 3, 6],
        44.14, 110.21, 58.3, 49.85, 42.14,
    ),
    ([0.5, 0.3, 0.2], [10, 6, 4], [1, 3, 2], 13.8, 13.8, 13.8, 13.8, 12.0),
]  # fmt: skip
"""Chances, minutes, a best order, its minutes, the worst, by chance, by minutes, and the best order's with
the last check implied. Of the third every order costs the same."""

CASES = 60
SHARED = Case(
    p=[1 / 3] * 3, minutes=[1.0] * 3, beside=[0.0] * 3, setups=[["bin"]] * 3, setup_minutes={"bin": 20.0},
    reveals=np.eye(3).tolist(), false=[0.0] * 3, visit=500.0,
)  # fmt: skip
"""One set-up for three checks of a minute: 20 + (1 + 2 + 3) / 3 minutes."""


def codes(numbers: list[int]) -> tuple[str, ...]:
    return tuple(f"c{number - 1}" for number in numbers)


@pytest.mark.parametrize("case", COST_OF_REPAIR)
def test_both_readings_of_the_cost_of_repair(case) -> None:
    p, minutes, best, least, worst, by_chance, by_minutes, implied = case
    facts = one_each(minutes)
    found = order_of_checks(facts, p)
    assert found.expected_minutes == pytest.approx(least)
    assert minutes_of(facts, p, codes(best)) == pytest.approx(least)
    assert found.sequence == (codes(best) if worst > least else facts.codes)
    every = [minutes_of(facts, p, each) for each in permutations(facts.codes)]
    assert (min(every), max(every)) == pytest.approx((least, worst))
    in_order = [facts.codes[at] for at in np.argsort(-np.array(p), kind="stable")]
    assert minutes_of(facts, p, in_order) == pytest.approx(by_chance)
    in_order = [facts.codes[at] for at in np.argsort(minutes, kind="stable")]
    assert minutes_of(facts, p, in_order) == pytest.approx(by_minutes)
    assert minutes_of(facts, p, codes(best), implied=True) == pytest.approx(implied)


@pytest.mark.parametrize("case", COST_OF_REPAIR)
def test_the_best_order_when_the_last_cause_is_implied(case) -> None:
    """The last check costs nothing, so that a dear one may go last: brute force over all permutations."""
    p, minutes, *_ = case
    least = min(
        sum(
            p[cause] * sum(minutes[each] for each in every[: at + (at < len(p) - 1)])
            for at, cause in enumerate(every)
        )
        for every in permutations(range(len(p)))
    )
    found = order_of_checks(one_each(minutes), p, implied=True)
    assert found.expected_minutes == pytest.approx(least)
    assert minutes_of(one_each(minutes), p, found.sequence, implied=True) == pytest.approx(least)


@given(st.integers(2, 12), st.integers(0, 10**6))
def test_smiths_rule_is_a_special_case(count: int, seed: int) -> None:
    """Smith WE (1956), Naval Research Logistics Quarterly 3:59-66: least sum of weight x completion time."""
    rng = np.random.default_rng(seed)
    weights, times = rng.dirichlet(np.ones(count)), rng.uniform(1, 20, count)
    by_ratio = np.argsort(-weights / times)
    completed = np.cumsum(times[by_ratio])
    found = order_of_checks(one_each(times.tolist()), weights)
    assert found.expected_minutes == pytest.approx(float(weights[by_ratio] @ completed))
    assert found.bound == pytest.approx(found.expected_minutes)
    assert order_bound.lower_bound(order_problem.ready(one_each(times.tolist()), weights)) == pytest.approx(
        found.expected_minutes
    )


def test_a_check_that_shows_all_against_two_that_show_half() -> None:
    # causes .3 .3 .2 .2; the plain ratio takes the 9.9 minutes that show all, the best order 7.5
    facts = facts_of([9.9, 5, 5], [[1, 1, 1, 1], [0, 1, 0, 1], [1, 0, 1, 0]])
    p = [0.3, 0.3, 0.2, 0.2]
    found = order_of_checks(facts, p)
    assert found.sequence == ("c1", "c2")
    assert found.expected_minutes == pytest.approx(7.5)
    assert minutes_of(facts, p, ["c0"]) == pytest.approx(9.9)
    assert order_of_checks(facts, p, thorough=False).expected_minutes == pytest.approx(9.9)


def as_facts(case: Case) -> CheckFacts:
    return facts_of(
        case.minutes, case.reveals, beside=case.beside, setups=case.setups,
        setup_minutes=case.setup_minutes, false=case.false, visit=case.visit,
    )  # fmt: skip


def cases(count: int, checks: int = 3, seed: int = 1) -> list[tuple[Case, float]]:
    rng = np.random.default_rng(seed)
    made = [random_case(rng, checks, 3) for _ in range(count)]
    return [(case, least_minutes(case)) for case in made]


@pytest.fixture(scope="module")
def known() -> list[tuple[Case, float]]:
    return [*cases(CASES), (SHARED, 22.0)]


def compare(known: list[tuple[Case, float]]) -> None:
    """Hold the program's order to the best of all plans."""
    for case, least in known:
        found = order_of_checks(as_facts(case), case.p)
        assert found.exact
        assert found.expected_minutes == pytest.approx(least, abs=1e-7)
        assert minutes_of(as_facts(case), case.p, found.sequence) == pytest.approx(least, abs=1e-7)


def test_the_best_of_all_plans(known) -> None:
    compare(known)


def test_the_best_of_all_plans_of_four_checks() -> None:
    compare(cases(5, checks=4, seed=2))


def setup_each_time(problem, check, paid):
    return order_problem.to_pay(problem, check, ())


TWINS = {
    "waiting is work": lambda problem: replace(
        problem, minutes=problem.minutes + problem.beside, beside=problem.beside * 0
    ),
    "results are there at once": lambda problem: replace(problem, beside=problem.beside * 0),
    "false findings are ignored": lambda problem: replace(problem, false=problem.false * 0),
    "no second visit": lambda problem: replace(problem, second_visit=0.0),
    "all causes equally likely": lambda problem: replace(problem, weights=np.ones(3) / 3),
    "set-ups cost nothing": lambda problem: replace(problem, setups=((),) * len(problem.setups)),
    "only the first set-up will do": lambda problem: replace(
        problem, setups=tuple(names[:1] for names in problem.setups)
    ),
}


@pytest.mark.parametrize("name", TWINS)
def test_a_broken_model_is_caught(name: str, known, monkeypatch) -> None:
    monkeypatch.setattr(
        order, "ready", lambda *given, **more: TWINS[name](order_problem.ready(*given, **more))
    )
    with pytest.raises(AssertionError):
        compare(known)


def test_a_set_up_paid_each_time_is_caught(known, monkeypatch) -> None:
    monkeypatch.setattr(order_walk, "to_pay", setup_each_time)
    monkeypatch.setattr(order_exact, "to_pay", setup_each_time)
    with pytest.raises(AssertionError):
        compare(known)


def test_a_search_that_never_stops_early_is_caught(known, monkeypatch) -> None:
    monkeypatch.setattr(order, "exact_sequence", lambda problem: list(range(len(problem.minutes))))
    with pytest.raises(AssertionError):
        compare(known)


@pytest.mark.parametrize("seed", range(12))
def test_minutes_of_a_given_sequence_by_cause(seed: int) -> None:
    """Without a choice of set-ups there is one walk, and brute force over outcomes gives its minutes."""
    rng = np.random.default_rng(seed)
    case = random_case(rng, 4, 3)
    case = replace(case, setups=[names[:1] for names in case.setups])
    made = rng.permutation(4)[: rng.integers(1, 5)].tolist()
    plan = tuple(("check", check, (case.setups[check] or [""])[0]) for check in made)
    waits = (*plan[:1], ("wait", -1, ""), *plan[1:])
    facts = as_facts(case)
    for moves in (plan, waits):
        sequence = [WAIT if what == "wait" else f"c{check}" for what, check, _ in moves]
        told = minutes_by_cause(facts, case.p, sequence)
        assert told == pytest.approx(by_cause(case, moves))


def hold_bounds(known: list[tuple[Case, float]]) -> None:
    """Hold the bound below the best of all plans, and above what is never found."""
    for case, least in known:
        problem = order_problem.ready(as_facts(case), case.p)
        bound = order_bound.lower_bound(problem)
        never = float(problem.weights @ (1 - problem.reveals).prod(axis=0))
        assert bound <= least + 1e-7
        assert bound >= never * problem.second_visit - 1e-7


def test_no_order_beats_the_bound(known) -> None:
    hold_bounds(known)


def test_no_order_of_eight_checks_beats_the_bound() -> None:
    for seed in range(25):
        rng = np.random.default_rng(seed)
        facts, p = like_a_catalogue(rng, 8, 6, visit=float(rng.choice([20, 60, 400]))), posterior(rng, 6)
        found = order_of_checks(facts, p)
        assert found.exact
        for implied in (False, True):
            least = order_of_checks(facts, p, implied=implied).expected_minutes
            assert order_bound.lower_bound(order_problem.ready(facts, p, implied=implied)) <= least + 1e-7


def uncapped(*given):
    shown, minutes, whole, _, visit = given
    return CAPPED(shown, minutes, whole, np.inf, visit)


CAPPED = order_bound._with_cap


def test_a_bound_without_the_cap_is_caught(known, monkeypatch) -> None:
    monkeypatch.setattr(order_bound, "_with_cap", uncapped)
    with pytest.raises(AssertionError):
        hold_bounds(known)


def test_a_bound_that_counts_set_ups_for_every_check_is_caught(known, monkeypatch) -> None:
    def whole(problem, shown):
        return np.array(
            [min((problem.setup_minutes[each] for each in names), default=0.0) for names in problem.setups]
        )

    monkeypatch.setattr(order_bound, "_shares_of_setups", whole)
    with pytest.raises(AssertionError):
        hold_bounds(known)


def test_a_bound_that_adds_what_checks_find_only_at_their_end_twice_is_caught(known, monkeypatch) -> None:
    monkeypatch.setattr(order_bound, "_with_cap", lambda *given: CAPPED(*given) * 1.3)
    with pytest.raises(AssertionError):
        hold_bounds(known)
