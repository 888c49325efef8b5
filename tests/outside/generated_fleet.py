"""A fleet of the generator with a model fitted to it, quickly: the logistic one of one strength alone."""

from pathlib import Path

import pytest

from analytics.causes import choosing, fitting
from analytics.causes.classifier import CauseClassifier
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import generate


def fitted_fleet(folder: Path, calls: int = 6000, seed: int = 11) -> Fleet:
    """Make a fleet, load it and fit; few orders of checks are judged."""
    generate(folder / "files", calls=calls, seed=seed)
    store = Store(folder / "store")
    load_files(store, sorted((folder / "files").glob("*.csv")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "candidates", lambda: {"logistic": [CauseClassifier(C=0.5)]})
        patch.setattr(fitting, "MOST_ORDERS", 5)
        Fleet(store).fit()
    return Fleet(store)
