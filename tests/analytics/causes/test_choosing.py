"""The simpler model on a tie, the better one when it is clearly better; less sure where it was too sure."""

from typing import Any, Self

import numpy as np
import polars as pl
import pytest
from sklearn.base import BaseEstimator, ClassifierMixin

from analytics.causes import choosing as module
from analytics.causes.candidates import BoostedTrees, at_temperature, candidates
from analytics.causes.choosing import choose
from analytics.causes.classifier import CauseClassifier
from analytics.causes.features import as_features
from analytics.causes.model import columns_of
from analytics.causes.scores import log_losses
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes

CAUSE_OF = dict(zip(("empty", "full", "hollow", "wet"), CODES, strict=True))


class Believes(ClassifierMixin, BaseEstimator):
    """Gives the cause that the mould speaks for a chance; `every` so many rows it looks at the mould at all."""

    def __init__(self, belief: float = 0.8, every: int = 1, temperature: float = 1.0) -> None:
        self.belief = belief
        self.every = every
        self.temperature = temperature

    def fit(self, X: pl.DataFrame, y: Any) -> Self:
        self.classes_ = np.array(sorted(CODES))
        return self

    def predict_proba(self, X: pl.DataFrame) -> np.ndarray:
        named = X["mould_state"].cast(pl.String).replace_strict(CAUSE_OF).to_numpy()
        chances = np.full((X.height, 4), (1 - self.belief) / 3)
        chances[named[:, None] == self.classes_] = self.belief
        chances[np.arange(X.height) % self.every != 0] = 0.25
        heated = chances ** (1 / self.temperature)
        return heated / heated.sum(axis=1, keepdims=True)


def chosen(monkeypatch: pytest.MonkeyPatch, **families: list[Any]) -> Any:
    monkeypatch.setattr(module, "candidates", lambda: families)
    return choose(episodes(2000), CODES, SYMPTOMS)


def check_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    simple = [Believes(0.8, every=2)]
    tie = chosen(monkeypatch, simple=[Believes(0.8)], other=[Believes(0.81)])
    assert (tie.name, [row["taken"] for row in tie.tried]) == ("simple", [True, False])
    better = chosen(monkeypatch, simple=simple, other=[Believes(0.8)])
    assert (better.name, [row["taken"] for row in better.tried]) == ("other", [False, True])
    assert better.tried[0]["gain"] is None
    assert better.tried[1]["gain_low"] > 0.02
    worse = chosen(monkeypatch, simple=[Believes(0.8)], other=simple)
    assert worse.name == "simple"
    assert worse.tried[1]["gain_high"] < 0
    # better, but by little: every 25th call is looked at in one, every 20th in the other
    little = chosen(monkeypatch, simple=[Believes(0.8, every=25)], other=[Believes(0.8, every=20)])
    assert 0 < little.tried[1]["gain"] < 0.02
    assert little.name == "simple"


def test_which_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    check_choice(monkeypatch)


@pytest.mark.parametrize("tie", [-np.inf, np.inf], ids=["always the later", "never another"])
def test_choosing_otherwise_is_caught(monkeypatch: pytest.MonkeyPatch, tie: float) -> None:
    monkeypatch.setattr(module, "TIE_NATS", tie)
    with pytest.raises(AssertionError):
        check_choice(monkeypatch)


def test_of_each_kind_the_best_is_meant(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    monkeypatch.setattr(
        module, "candidates", lambda: {"one": [Believes(every=3), Believes(every=1), Believes(every=2)]}
    )
    found = choose(episodes(600), CODES, SYMPTOMS, lambda stage, share: told.append(f"{stage} {share:.2f}"))
    assert found.estimator.every == 1
    assert told == ["trying one 0.00", "trying one 0.33", "trying one 0.67"]
    assert list(found.tried[0]) == [
        "name", "penalty", "temperature", "log_loss", "gain", "gain_low", "gain_high", "episodes", "taken",
    ]  # fmt: skip


def check_temperature() -> None:
    """Of a model that is sure of what is so four times in five: less surprising, and about as sure as it may be."""
    rows = episodes(2000)
    truth = columns_of(rows["final_cause"], CODES)
    order = [sorted(CODES).index(code) for code in CODES]
    sure = Believes(0.999).fit(rows, None).predict_proba(as_features(rows, SYMPTOMS))[:, order]
    warm = at_temperature(Believes(0.999), np.log(sure), truth)
    assert 1.5 < warm.temperature < 3.0
    heated = sure ** (1 / warm.temperature)
    heated /= heated.sum(axis=1, keepdims=True)
    assert log_losses(heated, truth).mean() < log_losses(sure, truth).mean() - 0.1
    hits = (heated.argmax(axis=1) == truth).mean()
    assert heated.max(axis=1).mean() == pytest.approx(hits, abs=0.02)


def test_a_model_too_sure_is_cooled() -> None:
    check_temperature()


def test_a_temperature_upside_down_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    set_params = Believes.set_params
    monkeypatch.setattr(
        Believes, "set_params", lambda self, temperature: set_params(self, temperature=1 / temperature)
    )
    with pytest.raises(AssertionError):
        check_temperature()


def test_a_model_just_right_stays_as_it_is() -> None:
    rows = episodes(4000)
    truth = columns_of(rows["final_cause"], CODES)
    order = [sorted(CODES).index(code) for code in CODES]
    hits = np.mean(
        [CAUSE_OF[mould] == cause for mould, cause in rows.select("mould_state", "final_cause").rows()]
    )
    fair = Believes(float(hits)).fit(rows, None).predict_proba(as_features(rows, SYMPTOMS))[:, order]
    assert at_temperature(Believes(), np.log(fair), truth).temperature == pytest.approx(1, abs=0.02)


def test_the_models_that_are_tried_are_named_simplest_first() -> None:
    found = candidates()
    assert list(found) == ["logistic", "boosted"]
    assert all(isinstance(each, CauseClassifier) for each in found["logistic"])
    assert all(isinstance(each, BoostedTrees) for each in found["boosted"])


def test_boosted_trees_tell_causes_too() -> None:
    rows = episodes(600)
    features = as_features(rows, SYMPTOMS)
    fitted = BoostedTrees(rounds=5).fit(features, rows["final_cause"].to_numpy())
    unseen = as_features(episodes(300, seed=2).with_columns(mould_state=pl.lit("never seen")), SYMPTOMS)
    for each in (features, unseen):
        assert np.allclose(fitted.predict_proba(each).sum(axis=1), 1)
    assert np.mean(fitted.predict(features) == rows["final_cause"].to_numpy()) > 0.7
    cooler = BoostedTrees(rounds=5, temperature=2.0).fit(features, rows["final_cause"].to_numpy())
    assert cooler.predict_proba(features).max() < fitted.predict_proba(features).max()
