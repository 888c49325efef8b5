"""A fleet of the generator with a model fitted to it, quickly: the logistic one of one strength alone."""

from pathlib import Path

import pytest

from analytics.causes import choosing, fitting
from analytics.causes.classifier import CauseClassifier
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import generate
from tests.building import built_once

CALLS, SEED = 6000, 11


def fitted_fleet(factory: pytest.TempPathFactory) -> Fleet:
    """Return a fleet with a model fitted to it, to be read only."""
    return Fleet(Store(built_once(factory, "fitted_with_few_orders", build) / "store"))


def build(folder: Path) -> None:
    """Make a fleet, load it and fit; few orders of checks are judged."""
    generate(folder / "files", calls=CALLS, seed=SEED)
    store = Store(folder / "store")
    load_files(store, sorted((folder / "files").glob("*.csv")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "candidates", lambda: {"logistic": [CauseClassifier(C=0.5)]})
        patch.setattr(fitting, "MOST_ORDERS", 5)
        Fleet(store).fit()
