"""The classifier: as scikit-learn wants it, and what it promises besides."""

import warnings
from typing import Any

import numpy as np
import polars as pl
import pytest
from scipy.special import softmax
from sklearn.base import clone
from sklearn.utils.estimator_checks import check_estimator

from analytics.causes import classifier as module
from analytics.causes.classifier import CauseClassifier
from analytics.causes.explaining import moved

CALLS = 900


def calls(seed: int = 1) -> tuple[pl.DataFrame, np.ndarray]:
    """Answers, a quantity and three causes, made so that each column tells something, blanks too."""
    random = np.random.default_rng(seed)
    cause = random.choice(3, CALLS, p=[0.5, 0.3, 0.2])
    mould = np.where(random.random(CALLS) < 0.7, cause, random.integers(0, 3, CALLS))
    flow = np.where(cause == 2, None, np.where(random.random(CALLS) < 0.5, "slow", "fast"))
    age = np.where(random.random(CALLS) < 0.3, np.nan, random.exponential(100 + 300 * (cause == 1)))
    names = np.array(["valve", "filter", "module"])
    frame = pl.DataFrame(
        {
            "mould": np.array(["empty", "hollow", "full"])[mould],
            "flow": pl.Series(flow.tolist(), dtype=pl.String).cast(pl.Categorical),
            "symptom": ((cause == 0) ^ (random.random(CALLS) < 0.2)).astype(np.int8),
            "age_days": pl.Series(age).fill_nan(None),
        }
    )
    return frame, names[cause]


@pytest.fixture(scope="module")
def fitted() -> CauseClassifier:
    return CauseClassifier().fit(*calls())


def test_scikit_learn_finds_nothing_wrong() -> None:
    """All of its checks but those it skips itself, for want of what they need."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = check_estimator(CauseClassifier(), on_fail=None, on_skip=None)
    ran = [each for each in found if each["status"] != "skipped"]
    assert [each["check_name"] for each in ran if each["status"] != "passed"] == []
    assert len(ran) > 40


def test_scikit_learn_catches_a_broken_twin() -> None:
    class Broken(CauseClassifier):
        def predict(self, X: Any) -> Any:
            return super().predict(X)[::-1]

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = check_estimator(Broken(), on_fail=None, on_skip=None)
    assert "failed" in {each["status"] for each in found}


def test_chances(fitted: CauseClassifier) -> None:
    frame, causes = calls(2)
    chances = fitted.predict_proba(frame)
    assert chances.shape == (CALLS, 3)
    assert np.allclose(chances.sum(axis=1), 1)
    assert (chances >= 0).all()
    assert fitted.classes_.tolist() == ["filter", "module", "valve"]
    assert (fitted.predict(frame) == fitted.classes_[chances.argmax(axis=1)]).all()
    assert np.mean(fitted.predict(frame) == causes) > 0.75


def test_which_columns_hold_levels(fitted: CauseClassifier) -> None:
    assert fitted.levels_ == ["mould", "flow", "symptom"]  # a column of few distinct numbers is levels
    assert fitted.quantities_ == ["age_days"]
    assert fitted.terms_["symptom"] == ["0", "1"]
    assert fitted.terms_["flow"] == ["", "fast", "slow"]
    assert list(fitted.parts()) == ["mould", "flow", "symptom", "age_days"]


@pytest.mark.parametrize(("distinct", "is_quantity"), [(7, False), (8, True)])
def test_a_quantity_has_eight_distinct_values(distinct: int, is_quantity: bool) -> None:
    frame = pl.DataFrame({"n": np.arange(200) % distinct})
    fitted = CauseClassifier().fit(frame, np.arange(200) % 2)
    assert (fitted.quantities_ == ["n"]) is is_quantity


def check_missing_tells(fitted: CauseClassifier) -> None:
    """Flow is never asked of a broken module, and always of the others."""
    row = pl.DataFrame(
        {"mould": ["empty"] * 2, "flow": [None, "slow"], "symptom": [0, 0], "age_days": [None, None]},
        schema={"mould": pl.String, "flow": pl.Categorical, "symptom": pl.Int8, "age_days": pl.Float64},
    )
    blank, slow = fitted.predict_proba(row)[:, fitted.classes_.tolist().index("module")]
    assert blank > slow + 0.3


def test_missing_is_a_level_of_its_own(fitted: CauseClassifier) -> None:
    check_missing_tells(fitted)


def test_missing_taken_for_a_level_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MISSING", "slow")
    with pytest.raises(AssertionError):
        check_missing_tells(CauseClassifier().fit(*calls()))


def test_no_number_is_missing_however_it_is_written() -> None:
    frame, causes = calls()
    few = (frame["age_days"].fill_null(0) // 400).clip(0, 3)
    blank = pl.Series(np.arange(CALLS) % 4 == 0)
    written = [
        pl.DataFrame({"few": few, "blank": blank}).select(few=pl.when("blank").then(none).otherwise("few"))
        for none in (pl.lit(None), pl.lit(float("nan")))
    ]  # fmt: skip
    chances = [CauseClassifier().fit(each, causes).predict_proba(written[0]) for each in written]
    assert np.array_equal(*chances)


def test_a_level_never_seen_is_harmless(fitted: CauseClassifier) -> None:
    row = pl.DataFrame({"mould": ["?"], "flow": ["never"], "symptom": [5], "age_days": [1e9]})
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        chances = fitted.predict_proba(row)
    assert np.isfinite(chances).all()
    alone = fitted.effects(row)
    assert np.array_equal(alone["mould"], np.zeros((1, 3)))
    oldest = row.with_columns(pl.lit(calls()[0]["age_days"].max()).alias("age_days"))
    assert np.allclose(alone["age_days"], fitted.effects(oldest)["age_days"]), "no further than was seen"


def check_effects(fitted: CauseClassifier, frame: pl.DataFrame) -> None:
    scores = sum(fitted.effects(frame).values()) + fitted.intercept_
    assert np.allclose(scores / fitted.temperature, fitted.decision_function(frame), atol=1e-4)
    assert np.allclose(softmax(scores / fitted.temperature, axis=1), fitted.predict_proba(frame), atol=1e-5)


def test_effects_add_up(fitted: CauseClassifier) -> None:
    check_effects(fitted, calls(2)[0])
    effects = fitted.effects(calls()[0])
    for name, mean in fitted.average_effects().items():
        assert np.allclose(effects[name].mean(axis=0), mean, atol=1e-5)
    blank = pl.DataFrame({"mould": ["full"], "flow": ["slow"], "symptom": [0], "age_days": [None]})
    assert np.array_equal(fitted.effects(blank)["age_days"], np.zeros((1, 3)))


def test_effects_that_leave_a_column_out_are_caught(
    fitted: CauseClassifier, monkeypatch: pytest.MonkeyPatch
) -> None:
    parts = CauseClassifier.parts
    monkeypatch.setattr(CauseClassifier, "parts", lambda self: dict(list(parts(self).items())[1:]))
    with pytest.raises(AssertionError):
        check_effects(fitted, calls(2)[0])


def test_rows_in_portions_are_the_same_rows(fitted: CauseClassifier, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = fitted.predict_proba(calls(2)[0])
    monkeypatch.setattr(module, "ROWS_AT_ONCE", 7)
    assert np.array_equal(fitted.predict_proba(calls(2)[0]), whole)


def test_temperature_divides_the_log_odds(fitted: CauseClassifier) -> None:
    frame = calls(2)[0]
    warm = clone(fitted).set_params(temperature=2.0).fit(*calls())
    assert np.allclose(warm.decision_function(frame), fitted.decision_function(frame) / 2, atol=1e-4)
    assert (warm.predict(frame) == fitted.predict(frame)).all()
    assert warm.predict_proba(frame).max(axis=1).mean() < fitted.predict_proba(frame).max(axis=1).mean()
    check_effects(warm, frame)


def test_two_causes() -> None:
    frame, causes = calls()
    two = np.where(causes == "valve", "valve", "other")
    fitted = CauseClassifier().fit(frame, two)
    chances, odds = fitted.predict_proba(frame), fitted.decision_function(frame)
    assert odds.shape == (CALLS,)
    assert np.allclose(chances[:, 1], 1 / (1 + np.exp(-odds)))
    assert np.allclose(chances.sum(axis=1), 1)
    assert np.mean(fitted.predict(frame) == two) > 0.8


def test_rare_levels_are_taken_together() -> None:
    frame, causes = calls()
    odd = frame.with_columns(
        pl.when(pl.int_range(pl.len()) < 12).then(pl.lit("odd")).when(pl.int_range(pl.len()) < 25)
        .then(pl.lit("odder")).otherwise("mould").alias("mould")
    )  # fmt: skip
    fitted = CauseClassifier(least_frequent=20).fit(odd, causes)
    assert fitted.terms_["mould"] == ["empty", "full", "hollow", "infrequent_sklearn"]
    rows = odd.head(2).with_columns(mould=pl.Series(["odd", "never seen"]))
    effects = fitted.effects(rows)["mould"]
    assert np.array_equal(effects[0], effects[1])


@pytest.mark.parametrize("rows", [0, 5])
def test_nothing_to_learn_from_is_said(rows: int) -> None:
    frame, causes = calls()
    with pytest.raises(ValueError, match="causes"):
        CauseClassifier().fit(frame, causes[:rows])


def check_moved(fitted: CauseClassifier) -> None:
    """Against a plain loop: effect less the usual one, less what the answer does to the others."""
    row = pl.DataFrame({"mould": ["empty"], "flow": ["fast"], "symptom": [0], "age_days": [40.0]})
    chances, classes = fitted.predict_proba(row)[0], fitted.classes_.tolist()
    usual = {name: effect.mean(axis=0) for name, effect in fitted.effects(calls()[0]).items()}
    for cause in classes:
        by = {}
        for name, effect in fitted.effects(row).items():
            against = [effect[0, k] - usual[name][k] for k in range(3)]
            others = [k for k in range(3) if classes[k] != cause]
            centre = sum(chances[k] * against[k] for k in others) / sum(chances[k] for k in others)
            by[name] = (against[classes.index(cause)] - centre) / fitted.temperature
        expected = sorted((name for name in by if abs(by[name]) >= 0.1), key=lambda name: -abs(by[name]))
        (found,) = moved(fitted, row, cause)
        assert [each.answer for each in found] == expected
        assert [each.by for each in found] == pytest.approx([by[name] for name in expected], abs=1e-4)
    assert moved(fitted, row, "valve")[0][0].by * moved(fitted, row, "module")[0][0].by < 0


def test_what_moved_a_cause(fitted: CauseClassifier) -> None:
    check_moved(fitted)
    row = calls()[0].head(3)
    assert moved(fitted, row, "unheard of") == [[], [], []]


def test_reasons_against_nothing_are_caught(fitted: CauseClassifier, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing = dict.fromkeys(fitted.parts(), np.zeros(3))
    monkeypatch.setattr(CauseClassifier, "average_effects", lambda self: nothing)
    with pytest.raises(AssertionError):
        check_moved(fitted)
