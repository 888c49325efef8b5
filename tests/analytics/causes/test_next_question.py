"""The next question is the one whose answers save most minutes."""

import numpy as np
import pytest

from analytics.causes import next_question
from analytics.causes.next_question import rank_questions
from analytics.errors import BadQuestion
from tests.analytics.causes.made_facts import like_a_catalogue, one_each, posterior

FACTS = one_each([10, 10])
CERTAIN = ([0.5, 0.5], [[1, 0], [0, 1]])
USELESS = ([0.3, 0.7], [[0.5, 0.5], [0.5, 0.5]])
WEAK = ([0.5, 0.5], [[0.6, 0.4], [0.4, 0.6]])


def hold_by_hand() -> None:
    ranked = rank_questions(FACTS, [0.5, 0.5], {"no use": USELESS, "weak": WEAK, "certain": CERTAIN})
    assert [each.field for each in ranked] == ["certain", "weak", "no use"]
    # today 10 or 20 minutes, 15 on average; who knows takes 10; with .6 the likelier first 14, else 16 - 14
    assert [each.saves_minutes for each in ranked] == pytest.approx([5, 1, 0])


def test_by_hand() -> None:
    hold_by_hand()


def test_todays_order_under_todays_chances_is_caught(monkeypatch) -> None:
    sound = next_question.minutes_of
    monkeypatch.setattr(
        next_question,
        "minutes_of",
        lambda facts, after, today, **more: sound(facts, [0.5, 0.5], today, **more) + 1,
    )
    with pytest.raises(AssertionError):
        hold_by_hand()


def test_no_answer_costs_minutes() -> None:
    for seed in range(10):
        rng = np.random.default_rng(seed)
        facts, p = like_a_catalogue(rng, 12, 6), posterior(rng, 6)
        table = rng.dirichlet(np.ones(4), size=6)
        ranked = rank_questions(facts, p, {"any": (p @ table, (p[:, None] * table / (p @ table)).T)})
        assert ranked[0].saves_minutes >= 0


def test_levels_that_can_not_be_are_passed_over() -> None:
    ranked = rank_questions(FACTS, [0.5, 0.5], {"one": ([1.0, 0.0], [[0.5, 0.5], [0, 0]])})
    assert ranked[0].saves_minutes == 0
    assert rank_questions(FACTS, [0.5, 0.5], {}) == []


def test_shapes_that_do_not_fit_are_said() -> None:
    with pytest.raises(BadQuestion, match=r"they should be \(levels,\) and \(levels, 2\)"):
        rank_questions(FACTS, [0.5, 0.5], {"bad": ([0.5, 0.5], [[1, 0]])})
