"""The facade, as far as it is about the model of causes: with one, without, and with one that is unfit."""

import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from analytics.causes.keeping import KeptModel, keep, model_path
from analytics.errors import BadModel, BadQuestion, UnknownRecord
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.analytics.causes.fitted_fleet import Judge, quickly
from tests.analytics.test_cli import CALLS, write


@pytest.fixture(scope="module")
def without(tmp_path_factory: pytest.TempPathFactory) -> Fleet:
    """A few calls, and no model."""
    folder = tmp_path_factory.mktemp("few")
    store = Store(folder / "store")
    load_files(store, write(folder, calls=CALLS))
    return Fleet(store)


@pytest.fixture
def copied(fitted_store: Store, tmp_path: Path) -> Store:
    """The fitted fleet once more, to be changed."""
    shutil.copytree(fitted_store.folder, tmp_path / "store")
    return Store(tmp_path / "store")


def ids(fleet: Fleet, kind: str) -> list[str]:
    rows = fleet._read().cursor.execute(
        "select call_id from marts.calls where (job_kind = 'repair') = ? order by call_id limit 2",
        [kind == "repair"],
    )
    return [call_id for (call_id,) in rows.fetchall()]


def test_without_a_model(without: Fleet) -> None:
    assert without.model() is None
    assert without.model_card() is None
    assert without.new_call_pack() is None
    with pytest.raises(BadQuestion, match="No model of causes was fitted yet"):
        without.predict(["1"])


def test_too_few_to_fit_is_said(without: Fleet) -> None:
    for ask in (without.fit, without.evaluate):
        with pytest.raises(BadQuestion, match=r"0 strings of returns, .* a model needs 200"):
            ask()
    assert not model_path(without._store.folder).exists()


def test_predictions(fitted_fleet: Fleet) -> None:
    wanted = ids(fitted_fleet, "repair")
    found = fitted_fleet.predict(wanted)
    assert sorted(each.call_id for each in found) == wanted
    codes = fitted_fleet.model().model.codes
    for each in found:
        assert {code for code, _ in each.causes} == set(codes)
        assert sum(chance for _, chance in each.causes) == pytest.approx(1)
        assert each.order.steps
        assert each.parts.share >= 0.8 or not each.parts.reached
    more = fitted_fleet.predict(wanted, share=0.95)
    assert all(len(b.parts.parts) >= len(a.parts.parts) for a, b in zip(found, more, strict=True))
    together = fitted_fleet.parts_for_the_day(found)
    assert set(together) <= set(fitted_fleet.labels("parts"))


def test_unknown_calls_are_named(fitted_fleet: Fleet) -> None:
    with pytest.raises(UnknownRecord, match="no repair call 'nobody'"):
        fitted_fleet.predict([ids(fitted_fleet, "repair")[0], "nobody"])
    install = ids(fitted_fleet, "other")[0]
    with pytest.raises(UnknownRecord, match=f"no repair call '{install}'"):
        fitted_fleet.predict([install])


def test_the_card(fitted_fleet: Fleet) -> None:
    card = fitted_fleet.model_card()
    counts = card.about["counts"]
    parts = ("learned_from", "probable", "no_fault_found", "not_recognised")
    assert counts["mature"] == sum(counts[part] for part in parts)
    assert all(counts[part] > 0 for part in parts)
    assert card.evaluation.beats_both
    assert card.evaluation.earlier + card.evaluation.later < counts["learned_from"]
    assert (card.drift.calls, card.drift.moved, card.drift.episodes) == (0, [], 0)
    assert not card.drift.worse


def test_evaluating_keeps_nothing(copied: Store) -> None:
    model_path(copied.folder).unlink()
    with quickly():
        found = Fleet(copied).evaluate()
    assert found.beats_both
    assert not model_path(copied.folder).exists()
    assert Fleet(copied).model() is None


def test_the_pack_goes_through_json(fitted_fleet: Fleet) -> None:
    pack = fitted_fleet.new_call_pack()
    assert json.loads(json.dumps(pack)) == pack
    model = fitted_fleet.model().model
    assert set(pack["model"]["causes"]) == set(model.classifier.classes_)
    if "rarer" in pack["model"]["causes"]:
        assert sum(pack["model"]["rarer"].values()) == pytest.approx(1)
    assert {"checks", "causes", "parts", "questions", "similar"} <= set(pack)


def test_what_changed_since_is_said(copied: Store, tmp_path: Path) -> None:
    """150 calls rung in on the day after the data end, all of them about an empty mould."""
    data_of = datetime.fromisoformat(Fleet(copied).model().about["data_of"])
    day = (data_of + timedelta(days=1)).date()
    later = "".join(f"new{n},unit{n},{day} 09:{n % 60:02d},,no ice,empty\n" for n in range(150))
    header = "call_id,unit_id,opened_at,closed_at,complaint,mould_state\n"
    load_files(copied, write(tmp_path, calls=header + later), source="later", today=day)
    drift = Fleet(copied).model_card().drift
    assert drift.calls == 150
    moved = {row["answer"]: row for row in drift.moved}
    assert moved["mould_state"]["level"] == "empty"
    assert moved["mould_state"]["share_now"] == 1
    assert "complaint" in moved
    assert drift.log_loss is None, "none of them is old enough"


def test_a_model_that_does_not_fit_is_said_wherever_it_is_needed(copied: Store) -> None:
    kept = Fleet(copied).model()
    keep(copied.folder, KeptModel(kept.model, kept.about | {"catalogue": "0" * 64}))
    fleet = Fleet(copied)
    for ask in (fleet.model, fleet.model_card, fleet.new_call_pack, fleet.predict):
        with pytest.raises(BadModel, match=r"another catalogue .* Fit it again: service-calls fit"):
            ask()


def test_another_model_is_seen_by_who_asked_before(copied: Store) -> None:
    fleet = Fleet(copied)
    before = fleet.model()
    assert fleet.model() is before, "it is read once"
    keep(copied.folder, KeptModel(before.model, before.about | {"fitted_at": "2099-01-01T00:00:00"}))
    assert fleet.model().about["fitted_at"] == "2099-01-01T00:00:00"


def test_fitted_to_everything_confirmed(fitted_fleet: Fleet) -> None:
    """What is kept gives what a fit of the same estimator to all confirmed episodes gives."""
    from analytics.causes.model import fitted

    judge, kept = Judge(fitted_fleet), fitted_fleet.model()
    again = fitted(kept.model.classifier, judge.training.confirmed, judge.codes, judge.symptoms)
    rows = judge.training.confirmed.head(50)
    assert np.allclose(again.chances(rows), kept.model.chances(rows), atol=1e-6)
    assert kept.about["counts"] == judge.training.counts()
    assert kept.about["catalogue"]
    assert kept.about["generation"] == 1
