"""On the future of a made-up fleet: better than the shares; with answers or causes shuffled, no better."""

import json

import numpy as np
import polars as pl
import pytest

from analytics.causes import evaluation as module
from analytics.causes.evaluation import BY_KIND, MODEL, OVERALL, Evaluation
from analytics.causes.scores import log_losses
from analytics.causes.shares import overall_shares
from analytics.causes.training import Split
from analytics.fleet import Fleet
from tests.analytics.causes.fitted_fleet import WITHHELD, Judge

KEPT = ("call_id", "unit_id", "unit_hash", "opened_at", "learned_at", "final_cause", "confirmed")
"""Columns of an episode that are no answers."""


@pytest.fixture(scope="module")
def judge(fitted_fleet: Fleet) -> Judge:
    return Judge(fitted_fleet)


@pytest.fixture(scope="module")
def whole(judge: Judge) -> Evaluation:
    return judge.evaluation()


def mixed(rows: pl.DataFrame, seed: int) -> pl.DataFrame:
    """Give each episode the answers of another."""
    answers = rows.drop(KEPT).sample(fraction=1.0, shuffle=True, seed=seed)
    return pl.concat([rows.select(KEPT), answers], how="horizontal")


def causes_mixed(rows: pl.DataFrame, seed: int) -> pl.DataFrame:
    return rows.with_columns(rows["final_cause"].sample(fraction=1.0, shuffle=True, seed=seed))


def check_no_gain(found: Evaluation) -> None:
    """No better than the overall shares, by more than chance; a little worse is what overfitting costs."""
    over = next(row for row in found.gains if row["over"] == OVERALL)
    assert not over["beaten"]
    assert over["gain"] < 0.02
    assert over["gain"] > -0.5
    assert not found.beats_both


def test_it_beats_both_baselines(whole: Evaluation) -> None:
    gains = {row["over"]: row for row in whole.gains}
    assert list(gains) == [OVERALL, BY_KIND]
    for row in gains.values():
        assert 0 < row["low"] < row["gain"] < row["high"]
        assert row["beaten"]
    assert whole.beats_both


def test_answers_shuffled_among_calls_show_no_gain(judge: Judge) -> None:
    parts = judge.parts
    check_no_gain(judge.evaluation(Split(parts.at, mixed(parts.earlier, 1), mixed(parts.later, 2))))


def test_causes_shuffled_among_calls_show_no_gain(judge: Judge) -> None:
    parts = judge.parts
    check_no_gain(
        judge.evaluation(Split(parts.at, causes_mixed(parts.earlier, 1), causes_mixed(parts.later, 2)))
    )


def test_shuffling_that_shuffles_nothing_is_caught(whole: Evaluation) -> None:
    with pytest.raises(AssertionError):
        check_no_gain(whole)


def test_a_cause_among_the_answers_is_caught(judge: Judge, monkeypatch: pytest.MonkeyPatch) -> None:
    """The check with shuffled answers would not see a cause that leaks; that nothing later leaks is tested apart."""
    parts, features = judge.parts, module.as_features

    def leaking(rows: pl.DataFrame, symptoms: object) -> pl.DataFrame:
        leak = rows["final_cause"].cast(pl.Categorical).alias("mould_state")
        return features(rows, symptoms).with_columns(leak)

    from analytics.causes import model

    monkeypatch.setattr(model, "as_features", leaking)
    monkeypatch.setattr(module, "as_features", leaking)
    with pytest.raises(AssertionError):
        check_no_gain(judge.evaluation(Split(parts.at, mixed(parts.earlier, 1), mixed(parts.later, 2))))


def check_scores(judge: Judge, found: Evaluation) -> None:
    """The baseline's scores against a plain loop over later episodes."""
    shares = dict(zip(judge.codes, overall_shares(judge.parts.earlier, judge.codes), strict=True))
    likeliest = sorted(shares, key=lambda code: -shares[code])
    truth = judge.parts.later["final_cause"].to_list()
    row = next(row for row in found.scores if row["who"] == OVERALL)
    squares = sum(share**2 for share in shares.values())
    expected = {
        "log_loss": np.mean([-np.log(shares[cause]) for cause in truth]),
        "brier": np.mean([squares - 2 * shares[cause] + 1 for cause in truth]),
        "top1": np.mean([cause == likeliest[0] for cause in truth]),
        "top3": np.mean([cause in likeliest[:3] for cause in truth]),
    }
    assert {name: row[name] for name in expected} == pytest.approx(expected)
    for name in expected:
        assert row[f"{name}_low"] < row[name] < row[f"{name}_high"]


def test_scores(judge: Judge, whole: Evaluation) -> None:
    check_scores(judge, whole)
    who = [(row["who"], row["among"]) for row in whole.scores]
    assert who == [
        (MODEL, "confirmed"), (OVERALL, "confirmed"), (BY_KIND, "confirmed"),
        (MODEL, "units never seen"), (MODEL, "probable"),
    ]  # fmt: skip
    counts = [row["episodes"] for row in whole.scores]
    assert counts[:3] == [whole.later] * 3
    assert counts[3] < whole.later
    probable = judge.training.probable.filter(pl.col("opened_at") >= judge.parts.at)
    assert counts[4] == probable.height


def test_scores_of_other_episodes_are_caught(judge: Judge, whole: Evaluation) -> None:
    parts = judge.parts
    wrong = Judge.__new__(Judge)
    wrong.codes, wrong.parts = judge.codes, Split(parts.at, parts.earlier, parts.earlier)
    with pytest.raises(AssertionError):
        check_scores(wrong, whole)


def test_what_is_said_has_its_columns(judge: Judge, whole: Evaluation) -> None:
    assert whole.cut == judge.parts.at.date().isoformat()
    assert (whole.earlier, whole.later) == (judge.parts.earlier.height, judge.parts.later.height)
    assert [row["episodes"] for row in whole.learning] == [whole.earlier // 4, whole.earlier]
    assert {tuple(row) for row in whole.learning} == {("episodes", "log_loss", "low", "high")}
    assert whole.learning[-1]["log_loss"] == pytest.approx(whole.scores[0]["log_loss"])
    assert {tuple(row) for row in whole.worth} == {("answer", "given", "lost", "low", "high")}
    assert {row["answer"] for row in whole.worth} == {"complaint", *WITHHELD}
    assert [row["lost"] for row in whole.worth] == sorted((row["lost"] for row in whole.worth), reverse=True)
    worth = {row["answer"]: row for row in whole.worth}
    assert worth["complaint"]["low"] > 0, "without the complaint far less can be told"
    given = 1 - judge.parts.later["mould_state"].null_count() / whole.later
    assert worth["mould_state"]["given"] == pytest.approx(given)
    assert {tuple(row) for row in whole.recalls} == {
        ("cause", "episodes", "first", "first_low", "first_high", "among_three", "three_low", "three_high",
         "mean_chance"),
    }  # fmt: skip
    assert sum(row["episodes"] for row in whole.recalls) == whole.later
    first = sum(row["episodes"] * row["first"] for row in whole.recalls) / whole.later
    assert first == pytest.approx(whole.scores[0]["top1"])
    assert sum(row["given"] for row in whole.calibration) == whole.later * len(judge.codes)
    assert 0 <= whole.calibration_error < 0.02


def test_it_goes_through_json(fitted_fleet: Fleet) -> None:
    kept = fitted_fleet.model().about["evaluation"]
    found = Evaluation.of_dict(json.loads(json.dumps(kept)))
    assert found.to_dict() == kept
    assert found.orders["calls"] == 20
    assert set(found.orders["means"]) == {"model", "technicians", "fixed", "clairvoyant"}


def test_an_answer_is_worth_nothing_where_it_tells_nothing(
    judge: Judge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is withheld is what is named: with nothing withheld, nothing is lost."""
    monkeypatch.setattr(module, "withheld", lambda features, answer: features)
    found = judge.evaluation()
    assert {row["lost"] for row in found.worth} == {0.0}


def test_probable_causes_take_no_part(judge: Judge, whole: Evaluation) -> None:
    chances = np.array([[0.25, 0.75]])
    assert log_losses(chances, np.array([1])) == pytest.approx([-np.log(0.75)])
    assert judge.parts.earlier["confirmed"].all()
    assert judge.parts.later["confirmed"].all()
