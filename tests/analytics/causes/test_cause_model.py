"""Rare causes are learned together and spread; what the model has to beat is worked out by hand."""

import numpy as np
import polars as pl
import pytest

from analytics.causes import model as module
from analytics.causes.classifier import CauseClassifier
from analytics.causes.model import RARER, CauseModel, columns_of, fitted, with_rarer
from analytics.causes.shares import overall_shares, shares_by_kind
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes

FIVE = ("a", "b", "c", "d", "e")


def causes(**counts: int) -> pl.Series:
    return pl.Series([code for code, count in counts.items() for _ in range(count)])


def check_rarer() -> None:
    """c and d are rare, e was never seen: 20, 4 and 0 calls, half a call more for each, of 25.5."""
    named, spread = with_rarer(causes(a=100, b=30, c=20, d=4), FIVE)
    assert dict(named.value_counts().iter_rows()) == {"a": 100, "b": 30, RARER: 24}
    assert spread == pytest.approx([0, 0, 20.5 / 25.5, 4.5 / 25.5, 0.5 / 25.5])


def test_rare_causes_are_taken_together() -> None:
    check_rarer()


@pytest.mark.parametrize(("name", "value"), [("UNSEEN", 0.0), ("LEAST_EPISODES", 31), ("LEAST_EPISODES", 20)])
def test_other_rules_are_caught(name: str, value: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, name, value)
    with pytest.raises(AssertionError):
        check_rarer()


def test_few_calls_of_few_causes_are_still_two_classes() -> None:
    """All of them rare would be one class: they are then learned each on its own."""
    named, spread = with_rarer(causes(a=10, b=5), FIVE)
    assert set(named) == {"a", "b"}
    assert spread.tolist() == [0] * 5


def test_one_common_cause_and_a_rare_one() -> None:
    named, spread = with_rarer(causes(a=100, b=5), FIVE)
    assert set(named) == {"a", RARER}
    assert spread == pytest.approx([0, 5.5 / 7, 0.5 / 7, 0.5 / 7, 0.5 / 7])


class Says:
    """Chances as given."""

    def __init__(self, **chances: float) -> None:
        self.classes_ = np.array(list(chances))
        self._chances = np.array(list(chances.values()))

    def predict_proba(self, X: pl.DataFrame) -> np.ndarray:
        return np.tile(self._chances, (X.height, 1))


def test_the_chance_of_rare_causes_is_spread() -> None:
    spread = np.array([0, 0, 0.6, 0.3, 0.1])
    found = CauseModel(Says(b=0.3, a=0.2, rarer=0.5), (), FIVE, spread).of_features(
        pl.DataFrame({"x": [1, 2]})
    )
    assert found == pytest.approx(np.tile([0.2, 0.3, 0.3, 0.15, 0.05], (2, 1)))


def test_a_cause_never_seen_has_a_chance_and_all_sum_to_one() -> None:
    rows = episodes(400).filter(pl.col("final_cause") != "drain")
    few = rows.filter(pl.col("final_cause") == "module").head(20)
    rows = pl.concat([rows.filter(pl.col("final_cause") != "module"), few])
    model = fitted(CauseClassifier(), rows, CODES, SYMPTOMS)
    chances = model.chances(episodes(50, seed=3))
    assert chances.sum(axis=1) == pytest.approx(np.ones(50))
    assert (chances > 0).all()
    assert chances[:, 2] == pytest.approx(41 * chances[:, 3])  # 20.5 to 0.5


def test_columns() -> None:
    assert columns_of(pl.Series(["b", "a", "e"]), FIVE).tolist() == [1, 0, 4]


EARLIER = pl.DataFrame(
    {
        "final_cause": ["a"] * 6 + ["b"] * 3,
        "families": [["leak"]] * 5 + [["cold", "leak"]] + [["leak", "cold"]] * 3,
    }
)


def check_shares() -> None:
    """Six and three calls, half a call more for each cause: 6.5, 3.5 and 0.5 of 10.5.

    Of the five leaks all were a; of the four that were both, in whatever order, one was a. Each kind is pulled by ten
    calls of the overall shares; a kind that is new has these.
    """
    codes = ("a", "b", "c")
    overall = np.array([6.5, 3.5, 0.5]) / 10.5
    assert overall_shares(EARLIER, codes) == pytest.approx(overall)
    later = pl.DataFrame({"families": [["leak"], ["cold", "leak"], ["noise"]]})
    found = shares_by_kind(EARLIER, later, codes)
    assert found[0] == pytest.approx((10 * overall + [5, 0, 0]) / 15)
    assert found[1] == pytest.approx((10 * overall + [1, 3, 0]) / 14)
    assert found[2] == pytest.approx(overall)


def test_shares_by_hand() -> None:
    check_shares()


def test_shares_of_another_pull_are_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    from analytics.causes import shares

    monkeypatch.setattr(shares, "PULL", 1)
    with pytest.raises(AssertionError):
        check_shares()
