"""The file of a fitted model: written whole or not at all, read only where it fits."""

import json
import os
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from skops import io as skops

from analytics.causes.model import CauseModel
from analytics.errors import BadModel
from analytics.store_files import sync

FILE = "causes.skops"
FORMAT = 1
PACKAGES = ("scikit-learn", "numpy", "scipy")
"""Packages of whose other minor versions a stored model is refused."""
TRUSTED = (
    "analytics.causes.candidates.BoostedTrees",
    "analytics.causes.classifier.CauseClassifier",
    "functools.partial",  # of the boosted trees; whatever it would call has to be trusted itself
    "sklearn.utils.validation.check_array",
    "sklearn.ensemble._hist_gradient_boosting.predictor.TreePredictor",
)
"""Types that may be made from the file besides those that skops trusts by itself; fixed here."""
AGAIN = "Fit it again: service-calls fit."


@dataclass(frozen=True)
class KeptModel:
    """A model, and what it is about.

    Parameters
    ----------
    model : CauseModel
    about : dict
        JSON: format, generation, data_of, fitted_at, catalogue (hash), versions, counts, evaluation and what
        the answers of the training calls were like.
    """

    model: CauseModel
    about: dict[str, Any]


def versions() -> dict[str, str]:
    """Return the versions that a model was made with, minor version and up."""
    return {name: ".".join(version(name).split(".")[:2]) for name in PACKAGES}


def model_path(folder: Path) -> Path:
    """Where the model of a store lies."""
    return folder / FILE


def keep(folder: Path, kept: KeptModel) -> Path:
    """Write the model beside the generations; whoever reads meanwhile sees the old one or the new one."""
    path = model_path(folder)
    beside = path.with_name(f"{path.name}.{os.getpid()}.new")
    model = kept.model
    for left in folder.glob(f"{FILE}.*.new"):  # of a fit that was killed while it wrote
        if not Path("/proc", left.suffixes[-2].removeprefix(".")).exists():
            left.unlink(missing_ok=True)
    try:
        skops.dump(
            {
                "about": json.dumps({"format": FORMAT, **kept.about}, ensure_ascii=False),
                "classifier": model.classifier,
                "symptoms": list(model.symptoms),
                "codes": list(model.codes),
                "rarer": np.asarray(model.rarer),
            },
            beside,
        )
        sync(beside)
        os.replace(beside, path)
        sync(folder)
    finally:
        beside.unlink(missing_ok=True)
    return path


def kept_model(folder: Path, catalogue_hash: str) -> KeptModel | None:
    """Read the model of a store; None where none was fitted yet.

    Parameters
    ----------
    folder : Path
        Of the store.
    catalogue_hash : str
        Of the catalogue by which its data are coded.

    Raises
    ------
    BadModel
        When the file is damaged, holds types that are not trusted, or was made by another format, other
        versions of the packages, or another catalogue.
    """
    path = model_path(folder)
    if not path.exists():
        return None
    try:
        found = skops.load(path, trusted=list(TRUSTED))
        about = json.loads(found["about"])
        model = CauseModel(
            found["classifier"], tuple(found["symptoms"]), tuple(found["codes"]), found["rarer"]
        )
        _check(path, about, catalogue_hash)
    except BadModel:
        raise
    except Exception as error:  # skops raises whatever a broken archive makes it meet
        raise BadModel(
            f"{path} can not be read as a model ({type(error).__name__}: {error}). {AGAIN}"
        ) from error
    return KeptModel(model, about)


def _check(path: Path, about: dict[str, Any], catalogue_hash: str) -> None:
    """Refuse a model that does not fit."""
    if about.get("format") != FORMAT:
        raise BadModel(f"{path} is of format {about.get('format')}, and this program reads {FORMAT}. {AGAIN}")
    here = versions()
    others = [
        f"{name} {made} (here {here.get(name)})"
        for name, made in about["versions"].items()
        if made != here.get(name)
    ]
    if others:
        raise BadModel(f"{path} was made with {', '.join(others)}. {AGAIN}")
    if about["catalogue"] != catalogue_hash:
        raise BadModel(
            f"{path} was fitted with another catalogue (hash {about['catalogue'][:8]}, here "
            f"{catalogue_hash[:8]}): its causes and answers may mean something else. {AGAIN}"
        )
