"""The check that tells the two likeliest causes apart."""

import pytest

from analytics.causes import telling_apart
from analytics.causes.telling_apart import tells_apart
from tests.analytics.causes.made_facts import facts_of

FACTS = facts_of(
    [2, 4, 0],
    [[0.8, 0.6, 0.0], [0.0, 0.9, 0.0], [0.0, 0.0, 1.0]],
    setups=[["front"], ["pulled_out", "kick_plate"], []],
    false=[0.1, 0.0, 0.0],
)


def hold_by_hand() -> None:
    apart = tells_apart(FACTS, [0.5, 0.4, 0.1])
    assert apart is not None
    # .82 against .64 in 2 minutes; 0 against .9 in 4 + 4, the kick plate being the cheaper
    assert (apart.likeliest, apart.next, apart.check, apart.minutes) == ("k0", "k1", "c1", 8)
    assert (apart.finds_likeliest, apart.finds_next) == (0, 0.9)
    paid = tells_apart(FACTS, [0.5, 0.4, 0.1], paid=["pulled_out"])
    assert paid is not None
    assert paid.minutes == 4


def test_set_up_counts_until_it_is_paid() -> None:
    hold_by_hand()


def test_minutes_without_set_up_are_caught(monkeypatch) -> None:
    monkeypatch.setattr(telling_apart, "to_pay", lambda problem, check, paid: ((-1, 0.0),))
    with pytest.raises(AssertionError):
        hold_by_hand()


def test_false_findings_are_among_the_chances() -> None:
    apart = tells_apart(FACTS, [0.5, 0.4, 0.1], made=["c1"])
    assert apart is not None
    assert (apart.check, apart.finds_likeliest, apart.finds_next) == (
        "c0", pytest.approx(0.82), pytest.approx(0.64),
    )  # fmt: skip


def test_a_check_without_minutes_is_worth_most() -> None:
    apart = tells_apart(FACTS, [0.5, 0.1, 0.4])
    assert apart is not None
    assert (apart.check, apart.next) == ("c2", "k2")


def test_nothing_tells_apart() -> None:
    assert tells_apart(FACTS, [1, 0, 0]) is None
    assert tells_apart(FACTS, [0.5, 0.4, 0.1], made=["c0", "c1", "c2"]) is None
    assert tells_apart(facts_of([2], [[0.5, 0.5]]), [0.5, 0.5]) is None
    assert tells_apart(facts_of([2], [[0.5]]), [1]) is None
