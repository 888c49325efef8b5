"""Parts for the van against every possible set, and numbers for a day against every way a day can go."""

from itertools import product

import numpy as np
import pytest

from analytics.causes import van_parts
from analytics.causes.van_parts import STAND_IN_COST, PartFacts, parts_for_the_day, parts_to_bring
from analytics.errors import BadQuestion

PARTS = PartFacts.of(
    {"valve": (["coil", "seeps"], 60.0), "filter": (["clogged"], 20.0), "assembly": (["module"], None)},
    ["coil", "seeps", "clogged", "module", "arm_up", "drain"],
    without_part=["arm_up"],
)
P = [0.3, 0.2, 0.2, 0.1, 0.1, 0.1]


def test_by_hand() -> None:
    bring = parts_to_bring(PARTS, P, 0.6)
    # .1 needs no part; the valve covers .5 for 60
    assert (bring.parts, bring.cost, bring.reached) == (("valve",), 60, True)
    assert bring.share == pytest.approx(0.6)
    assert bring.not_coverable == ("drain",)
    assert parts_to_bring(PARTS, P, 0.3).parts == ("filter",)
    assert parts_to_bring(PARTS, P, 0.1).parts == ()


def test_when_the_share_is_out_of_reach_all_that_helps_is_brought() -> None:
    bring = parts_to_bring(PARTS, P, 0.95)
    assert bring.parts == ("valve", "filter", "assembly")
    assert (bring.reached, bring.share) == (False, pytest.approx(0.9))
    assert (bring.cost, bring.cost_not_known) == (80 + STAND_IN_COST, ("assembly",))


def test_no_parts_at_all() -> None:
    none = PartFacts.of({}, ["a", "b"], without_part=["a"])
    bring = parts_to_bring(none, [0.4, 0.6], 0.9)
    assert (bring.parts, bring.share, bring.not_coverable) == ((), pytest.approx(0.4), ("b",))
    assert parts_for_the_day(none, [[0.4, 0.6]], 0.9) == {}


def random_parts(rng: np.random.Generator) -> tuple[PartFacts, np.ndarray]:
    parts, causes = int(rng.integers(1, 8)), int(rng.integers(1, 9))
    names = [f"k{at}" for at in range(causes)]
    facts = PartFacts.of(
        {
            f"p{at}": ([name for name in names if rng.random() < 0.3], float(rng.integers(5, 100)))
            for at in range(parts)
        },
        names,
        [name for name in names if rng.random() < 0.2],
    )
    return facts, rng.dirichlet(np.ones(causes))


def compare_with_every_set() -> None:
    for seed in range(40):
        rng = np.random.default_rng(seed)
        facts, p = random_parts(rng)
        share = float(rng.uniform(0.3, 1.0))
        sets = []
        for aboard in product([False, True], repeat=len(facts.codes)):
            covered = facts.answers[list(aboard)].any(axis=0) | facts.needs_none
            sets.append((float(p[covered].sum()), float(facts.costs[list(aboard)].sum())))
        most = max(covered for covered, _ in sets)
        least = min(cost for covered, cost in sets if covered >= min(share, most) - 1e-9)
        bring = parts_to_bring(facts, p, share)
        assert bring.cost == pytest.approx(least)
        assert bring.share >= min(share, most) - 1e-9


def test_no_set_is_cheaper() -> None:
    compare_with_every_set()


def test_parts_taken_by_chance_covered_per_cost_alone_are_caught(monkeypatch) -> None:
    def greedy(facts, p, answered, wanted):
        chosen = np.zeros(len(facts.codes), bool)
        while p[answered & facts.answers[chosen].any(axis=0)].sum() < wanted - 1e-9:
            left = np.where(answered & ~facts.answers[chosen].any(axis=0), p, 0.0)
            chosen[np.argmax(np.where(chosen, -1.0, facts.answers @ left / facts.counted_costs))] = True
        return chosen

    monkeypatch.setattr(van_parts, "_cheapest", greedy)
    with pytest.raises(AssertionError):
        compare_with_every_set()


def compare_with_every_day() -> None:
    for seed in range(20):
        rng = np.random.default_rng(seed)
        facts, _ = random_parts(rng)
        share = float(rng.uniform(0.5, 0.99))
        day = rng.dirichlet(np.ones(len(facts.causes)), size=4)
        listed = parts_for_the_day(facts, day, share)
        for code, answers in zip(facts.codes, facts.answers, strict=True):
            # the causes for which no cheaper part, nor an equally cheap one before it, is taken
            own = [
                at for at in np.flatnonzero(answers & ~facts.needs_none)
                if facts.codes[np.where(facts.answers[:, at], facts.costs, np.inf).argmin()] == code
            ]  # fmt: skip
            needs = day[:, own].sum(axis=1)
            chance = np.zeros(5)
            for outcome in product([0, 1], repeat=4):
                chance[sum(outcome)] += np.prod(np.where(outcome, needs, 1 - needs))
            fewest = next(number for number in range(5) if chance[: number + 1].sum() >= share - 1e-9)
            assert listed.get(code, 0) == fewest


def test_the_fewest_that_suffice_on_a_day() -> None:
    compare_with_every_day()


def test_numbers_by_the_average_alone_are_caught(monkeypatch) -> None:
    def average(needs):
        return np.arange(len(needs) + 1)[:, None] == np.round(needs.sum(axis=0))[None, :]

    monkeypatch.setattr(van_parts, "_how_many", average)
    with pytest.raises(AssertionError):
        compare_with_every_day()


@pytest.mark.parametrize(
    ("p", "share", "said"),
    [
        (P, 1.5, "share to cover is 1.5; it should be from 0 to 1"),
        (P[:3], 0.9, "6 columns"),
        ([0] * 6, 0.9, "all 0"),
        ([-1, 1, 1, 0, 0, 0], 0.9, "below 0"),
    ],
)
def test_what_does_not_fit_is_said(p: list[float], share: float, said: str) -> None:
    with pytest.raises(BadQuestion, match=said):
        parts_to_bring(PARTS, p, share)
    with pytest.raises(BadQuestion, match=said):
        parts_for_the_day(PARTS, [p], share)
