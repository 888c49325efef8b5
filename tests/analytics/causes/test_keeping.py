"""A model is kept whole or not at all, comes back bit by bit, and is refused where it does not fit."""

import errno
import json
import os
import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
from skops import io as skops

from analytics.causes import keeping as module
from analytics.causes.candidates import BoostedTrees
from analytics.causes.classifier import CauseClassifier
from analytics.causes.keeping import KeptModel, keep, kept_model, model_path, versions
from analytics.causes.model import CauseModel, fitted
from analytics.errors import BadModel
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes

HASH = "a" * 64


class Stranger:
    """A type that is not trusted."""

    def __init__(self) -> None:
        self.classes_ = [1, 2]


def a_model(seed: int = 1, estimator: Any = None) -> CauseModel:
    return fitted(estimator or CauseClassifier(), episodes(300, seed=seed), CODES, SYMPTOMS)


def kept(folder: Path, model: CauseModel | None = None, **about: Any) -> Path:
    said = {"versions": versions(), "catalogue": HASH, "note": "no ice, 7°"} | about
    return keep(folder, KeptModel(model or a_model(), said))


@pytest.mark.parametrize("estimator", [CauseClassifier(), BoostedTrees(rounds=3)])
def test_it_comes_back_bit_by_bit(estimator: Any, tmp_path: Path) -> None:
    model = a_model(estimator=estimator)
    path = kept(tmp_path, model)
    assert [each.name for each in tmp_path.iterdir()] == [path.name]
    found = kept_model(tmp_path, HASH)
    assert found.about["note"] == "no ice, 7°"
    rows = episodes(200, seed=5)
    assert np.array_equal(found.model.chances(rows), model.chances(rows))
    assert (found.model.codes, found.model.symptoms) == (CODES, SYMPTOMS)
    again = kept_model(keep(tmp_path, found).parent, HASH)
    assert np.array_equal(again.model.chances(rows), model.chances(rows))


@pytest.mark.parametrize("estimator", [CauseClassifier(), BoostedTrees(rounds=3)])
def test_two_causes_alone_come_back_too(estimator: Any, tmp_path: Path) -> None:
    rows = episodes(300).filter(pl.col("final_cause").is_in(["valve", "filter"]))
    model = fitted(estimator, rows, CODES, SYMPTOMS)
    kept(tmp_path, model)
    assert np.array_equal(kept_model(tmp_path, HASH).model.chances(rows), model.chances(rows))


def test_where_none_was_kept_there_is_none(tmp_path: Path) -> None:
    assert kept_model(tmp_path, HASH) is None


def check_refused(folder: Path, why: str, catalogue: str = HASH) -> None:
    try:
        found = kept_model(folder, catalogue)
    except BadModel as error:
        said = str(error)
    else:
        raise AssertionError(f"{found} was taken")
    assert why in said
    assert said.endswith("Fit it again: service-calls fit.")


UNFIT: dict[str, tuple[dict[str, Any], str]] = {
    "another format": ({"format": 2}, "is of format 2, and this program reads 1"),
    "another version": (
        {"versions": versions() | {"scikit-learn": "0.9"}},
        f"was made with scikit-learn 0.9 (here {versions()['scikit-learn']})",
    ),
    "a package that is gone": ({"versions": {"stranger": "1.0"}}, "stranger 1.0 (here None)"),
    "another catalogue": ({"catalogue": "b" * 64}, "another catalogue (hash bbbbbbbb, here aaaaaaaa)"),
}


@pytest.mark.parametrize("case", UNFIT)
def test_a_model_that_does_not_fit_is_refused(case: str, tmp_path: Path) -> None:
    about, why = UNFIT[case]
    kept(tmp_path, **about)
    check_refused(tmp_path, why)


@pytest.mark.parametrize("case", UNFIT)
def test_taking_it_all_the_same_is_caught(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_check", lambda *_: None)
    about, why = UNFIT[case]
    kept(tmp_path, **about)
    with pytest.raises(AssertionError, match="was taken"):
        check_refused(tmp_path, why)


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "cut short": lambda whole: whole[: len(whole) // 2],
    "empty": lambda whole: b"",
    "another file": lambda whole: b"call_id,unit_id\n",
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_file_is_refused(damage: str, tmp_path: Path) -> None:
    path = kept(tmp_path)
    path.write_bytes(DAMAGE[damage](path.read_bytes()))
    check_refused(tmp_path, "can not be read as a model")


@pytest.mark.parametrize("lacks", ["about", "classifier", "codes", "versions", "catalogue"])
def test_an_archive_that_lacks_something_is_refused(lacks: str, tmp_path: Path) -> None:
    model = a_model()
    about = {"format": module.FORMAT, "versions": versions(), "catalogue": HASH}
    whole = {
        "about": json.dumps({name: value for name, value in about.items() if name != lacks}),
        "classifier": model.classifier, "symptoms": list(SYMPTOMS), "codes": list(CODES),
        "rarer": model.rarer,
    }  # fmt: skip
    skops.dump({name: value for name, value in whole.items() if name != lacks}, model_path(tmp_path))
    check_refused(tmp_path, "can not be read as a model")


def strange(folder: Path) -> None:
    kept(folder, CauseModel(Stranger(), SYMPTOMS, CODES, np.zeros(len(CODES))))


def test_a_type_not_trusted_is_refused(tmp_path: Path) -> None:
    strange(tmp_path)
    check_refused(tmp_path, "Stranger")


def test_a_call_of_something_not_trusted_is_refused(tmp_path: Path) -> None:
    model = a_model()
    model.classifier.encoder_ = partial(shutil.rmtree, "anywhere")
    kept(tmp_path, model)
    check_refused(tmp_path, "shutil.rmtree")


def test_trusting_whatever_the_file_says_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    strange(tmp_path)
    named = skops.get_untrusted_types(file=model_path(tmp_path))
    monkeypatch.setattr(module, "TRUSTED", tuple(named))
    with pytest.raises(AssertionError, match="was taken"):
        check_refused(tmp_path, "Stranger")


def check_a_failed_write(folder: Path, write: Callable[[Path, KeptModel], Any]) -> None:
    """The old model stays whole, and nothing lies about."""
    path = kept(folder)
    before = path.read_bytes()
    with pytest.raises(OSError, match="full"):
        write(folder, KeptModel(a_model(2), {"versions": versions(), "catalogue": HASH}))
    assert path.read_bytes() == before
    assert [each.name for each in folder.iterdir()] == [path.name]


def full(*_: Any) -> None:
    raise OSError(errno.ENOSPC, "full")


@pytest.mark.parametrize("step", ["replace", "sync", "dump"])
def test_a_failed_write_leaves_the_old_model(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def keep_failing(folder: Path, new: KeptModel) -> None:
        owner = {"replace": os, "sync": module, "dump": module.skops}[step]
        monkeypatch.setattr(owner, step, full)
        keep(folder, new)

    check_a_failed_write(tmp_path, keep_failing)


def test_writing_in_place_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def in_place(folder: Path, new: KeptModel) -> None:
        monkeypatch.setattr(Path, "with_name", lambda self, name: self)
        monkeypatch.setattr(os, "replace", full)
        keep(folder, new)

    with pytest.raises((AssertionError, FileNotFoundError)):
        check_a_failed_write(tmp_path, in_place)


def test_what_a_killed_fit_left_is_removed_by_the_next(tmp_path: Path) -> None:
    (tmp_path / "causes.skops.99999999.new").write_bytes(b"half")  # no process has such a number
    running = tmp_path / f"causes.skops.{os.getppid()}.new"
    running.write_bytes(b"still being written")
    path = kept(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([path, running])
