"""Whether calls are still like those of the fit: nothing is said of few, and worse only beyond chance."""

import numpy as np
import polars as pl
import pytest

from analytics.causes.classifier import CauseClassifier
from analytics.causes.drift import LEAST_CALLS, Drift, drift, profile
from analytics.causes.model import CauseModel, columns_of, fitted
from analytics.causes.scores import log_losses
from analytics.statistics.cluster_bootstrap import Mean
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes

THEN = profile(episodes(600), SYMPTOMS)


@pytest.fixture(scope="module")
def model() -> CauseModel:
    return fitted(CauseClassifier(), episodes(600), CODES, SYMPTOMS)


def expected(model: CauseModel) -> float:
    rows = episodes(600, seed=2)
    return float(log_losses(model.chances(rows), columns_of(rows["final_cause"], CODES)).mean())


def test_shares_of_levels_by_hand() -> None:
    rows = episodes(4).with_columns(mould_state=pl.Series(["empty", None, "empty", "full"]))
    found = profile(rows, SYMPTOMS)
    assert found["mould_state"] == {"empty": 0.5, "": 0.25, "full": 0.25}
    assert found["switch_on"] == {"": 1.0}
    assert all(sum(shares.values()) == pytest.approx(1, abs=1e-4) for shares in found.values())


def test_nothing_later_gives_nothing(model: CauseModel) -> None:
    none = episodes(10).head(0)
    found = drift(model, THEN, 1.0, none, none)
    assert (found.calls, found.moved, found.episodes, found.log_loss, found.worse) == (0, [], 0, None, False)


def test_of_few_nothing_is_said(model: CauseModel) -> None:
    few = episodes(LEAST_CALLS - 1).with_columns(mould_state=pl.lit("wet"), final_cause=pl.lit("drain"))
    found = drift(model, THEN, 0.1, few, few)
    assert (found.moved, found.log_loss, found.worse) == ([], None, False)
    enough = episodes(LEAST_CALLS).with_columns(mould_state=pl.lit("wet"), final_cause=pl.lit("drain"))
    found = drift(model, THEN, 0.1, enough, enough)
    assert found.moved
    assert found.worse


def test_calls_of_the_same_kind_have_not_moved(model: CauseModel) -> None:
    found = drift(model, THEN, expected(model), episodes(600, seed=3), episodes(600, seed=3))
    assert (found.calls, found.moved, found.episodes, found.worse) == (600, [], 600, False)


def test_moved_answers_are_named_by_hand(model: CauseModel) -> None:
    """All moulds wet: whoever had another has to answer otherwise. A quarter asked of the switch: 0.25."""
    later = episodes(400, seed=3).with_columns(
        mould_state=pl.lit("wet"),
        switch_on=pl.when(pl.int_range(pl.len()) % 4 == 0).then(pl.lit("yes")),
    )
    found = drift(model, THEN, None, later, later.head(0)).moved
    wet = THEN["mould_state"]["wet"]
    assert [row["answer"] for row in found] == ["mould_state", "switch_on"]
    assert found[0] == pytest.approx(
        {"answer": "mould_state", "distance": 1 - wet, "level": "wet", "share_then": wet, "share_now": 1.0}
    )
    assert found[1]["distance"] == pytest.approx(0.25)
    assert {found[1]["level"]} <= {"", "yes"}


def check_worse(kind: type[Drift]) -> None:
    """Only where the whole interval lies above what was expected."""

    def worse(low: float, value: float, wanted: float | None = 1.0) -> bool:
        return kind(500, [], 500, Mean(value, low, value + 0.2, 500), wanted).worse

    assert worse(1.01, 1.1)
    assert not worse(0.99, 1.1)
    assert not worse(0.7, 0.8)
    assert not worse(1.01, 1.1, None)
    assert not kind(500, [], 5, None, 1.0).worse


def test_worse_beyond_chance() -> None:
    check_worse(Drift)


def test_worse_by_chance_is_caught() -> None:
    class Hasty(Drift):
        @property
        def worse(self) -> bool:
            return bool(self.log_loss and self.expected and self.log_loss.value > self.expected)

    with pytest.raises(AssertionError):
        check_worse(Hasty)


def test_other_causes_for_the_same_answers_are_worse(model: CauseModel) -> None:
    rows = episodes(600, seed=3)
    turned = rows.with_columns(final_cause=rows["final_cause"].replace(list(CODES), list(CODES[::-1])))
    found = drift(model, THEN, expected(model), rows, turned)
    assert found.moved == []
    assert found.worse
    losses = log_losses(model.chances(turned), columns_of(turned["final_cause"], CODES))
    assert found.log_loss.value == pytest.approx(np.mean(losses))
