"""Orders judged by what they would have cost on calls whose cause is known."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analytics.causes import judging
from analytics.causes.judging import judge_orders
from analytics.causes.order import minutes_by_cause, order_of_checks
from analytics.errors import BadQuestion
from tests.analytics.causes.made_facts import like_a_catalogue, one_each

FACTS = one_each([10, 10])


def judged(**changes: Any) -> judging.Judgement:
    given: dict[str, Any] = {
        "posteriors": [[0.9, 0.1], [0.1, 0.9], [0.1, 0.9], [0.1, 0.9]],
        "causes": ["k0", "k1", "k1", "k0"],
        "sequences": [["c0"], ["c0", "c1"], ["c1"], []],
        "units": ["a", "a", "b", "c"],
        "training_average": [0.7, 0.3],
    }
    return judge_orders(FACTS, **(given | changes))


def hold_by_hand() -> None:
    found = judged()
    # model 10 10 10 20; technicians 10 20 10 10 (went on as the fixed order); fixed, c0 first: 10 20 20 10
    assert {name: mean.value for name, mean in found.means.items()} == {
        "model": 12.5, "technicians": 12.5, "fixed": 15, "clairvoyant": 10,
    }  # fmt: skip
    assert {name: mean.value for name, mean in found.saved.items()} == {
        "technicians": 0, "fixed": 2.5, "clairvoyant": -2.5,
    }  # fmt: skip
    assert (found.calls, found.units) == (4, 3)
    assert judged() == found


def test_by_hand() -> None:
    hold_by_hand()


def test_a_record_charged_with_a_second_visit_for_ending_is_caught(monkeypatch) -> None:
    sound = judging._of_technicians_and_fixed

    def as_recorded(facts, average, true, sequences):
        alone = [minutes_by_cause(facts, average, made)[at] for made, at in zip(sequences, true, strict=True)]
        return np.array(alone), sound(facts, average, true, sequences)[1]

    monkeypatch.setattr(judging, "_of_technicians_and_fixed", as_recorded)
    with pytest.raises(AssertionError):
        hold_by_hand()


def test_an_order_for_the_average_in_place_of_the_posterior_is_caught(monkeypatch) -> None:
    sound = judging._of_model
    monkeypatch.setattr(
        judging, "_of_model", lambda facts, p, true: sound(facts, np.tile(p.mean(axis=0), (len(p), 1)), true)
    )
    with pytest.raises(AssertionError):
        hold_by_hand()


def random_calls(rng: np.random.Generator, calls: int) -> dict[str, Any]:
    """Return calls in which the posterior is right on average, several on each unit."""
    posteriors = rng.dirichlet(np.full(5, 0.5), size=calls)
    causes = [f"k{rng.choice(5, p=p)}" for p in posteriors]
    return {
        "posteriors": posteriors,
        "causes": causes,
        "sequences": [[f"c{at}" for at in rng.permutation(6)[:3]] for _ in range(calls)],
        "units": rng.integers(0, calls // 2, calls),
        "training_average": posteriors.mean(axis=0),
    }


def test_a_true_posterior_beats_one_order_for_all_and_loses_to_who_knows() -> None:
    rng = np.random.default_rng(2)
    facts = like_a_catalogue(rng, 6, 5)
    found = judge_orders(facts, **random_calls(rng, 300))
    assert found.saved["fixed"].low > 0
    assert found.saved["technicians"].low > 0
    assert found.saved["clairvoyant"].high < 0
    for mean in (*found.means.values(), *found.saved.values()):
        assert mean.low <= mean.value <= mean.high


def test_the_interval_is_that_of_a_mean_over_units() -> None:
    rng = np.random.default_rng(3)
    facts, given = like_a_catalogue(rng, 6, 5), random_calls(rng, 400)
    found = judge_orders(facts, **given)
    fixed = minutes_by_cause(
        facts, given["training_average"], order_of_checks(facts, given["training_average"]).sequence
    )[[facts.causes.index(cause) for cause in given["causes"]]]
    # ratio of totals over units, as in Cochran, Sampling Techniques, section 6.3 (from memory)
    units = np.unique(given["units"])
    sums = np.array([(fixed[given["units"] == unit] - fixed.mean()).sum() for unit in units])
    error = np.sqrt((sums**2).sum()) / len(fixed)
    mean = found.means["fixed"]
    assert (mean.high - mean.low) == pytest.approx(2 * 1.96 * error, rel=0.1)


def test_calls_of_one_unit_are_drawn_together() -> None:
    once, thrice = judged(), {}
    for name, value in {
        "posteriors": [[0.9, 0.1], [0.1, 0.9], [0.1, 0.9], [0.1, 0.9]],
        "causes": ["k0", "k1", "k1", "k0"],
        "sequences": [["c0"], ["c0", "c1"], ["c1"], []],
        "units": ["a", "a", "b", "c"],
    }.items():
        thrice[name] = value * 3
    repeated = judged(**thrice)
    assert repeated.means == {name: replace(mean, rows=12) for name, mean in once.means.items()}
    each_a_unit = judged(**(thrice | {"units": list(range(12))}))
    assert each_a_unit.means["fixed"].high < once.means["fixed"].high


def test_what_does_not_fit_is_said() -> None:
    with pytest.raises(BadQuestion, match="one of each for every call"):
        judged(units=["a"])
    with pytest.raises(BadQuestion, match="at least one call"):
        judged(posteriors=np.zeros((0, 2)), causes=[], sequences=[], units=[])
    with pytest.raises(BadQuestion, match="No cause is called 'gone'"):
        judged(causes=["gone", "k1", "k1", "k0"])
