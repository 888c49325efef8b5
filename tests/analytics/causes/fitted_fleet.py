"""A made-up fleet with a model fitted to it, small and quick: few candidates, few answers withheld."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from analytics.catalogue import load_catalogue
from analytics.causes import choosing, evaluation, fitting
from analytics.causes.classifier import CauseClassifier
from analytics.causes.evaluation import Evaluation
from analytics.causes.training import Split, Training, split
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data.generate import generate

CALLS = 6_000
"""Of which some 2,700 have a confirmed cause: enough to beat shares by kind of complaint."""
WITHHELD = ("mould_state", "filter_last_changed")


@contextmanager
def quickly() -> Iterator[None]:
    """Try one candidate, with a short learning curve and little withheld."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "candidates", lambda: {"logistic": [CauseClassifier(C=0.5)]})
        patch.setattr(evaluation, "SIZES", (0.25, 1.0))
        patch.setattr(evaluation, "ANSWERS", WITHHELD)
        patch.setattr(evaluation, "MOST_WITHHELD", 1000)
        patch.setattr(fitting, "MOST_ORDERS", 20)
        yield


def loaded(folder: Path, calls: int = CALLS) -> Store:
    """Make files of a fleet and load them."""
    store = Store(folder / "store")
    load_files(store, sorted(generate(folder / "files", calls=calls, seed=11).glob("*.csv")))
    return store


def fit(store: Store) -> Fleet:
    """Fit, and return a facade of which nothing is kept yet."""
    with quickly():
        Fleet(store).fit()
    return Fleet(store)


class Judge:
    """Judges on one fleet again and again: whole, or with its episodes changed."""

    def __init__(self, fleet: Fleet) -> None:
        fitter = fitting.Fitter(fleet._read(), load_catalogue())
        self.codes, self.symptoms = fitter.codes, fitter.symptoms
        self.training: Training = fitter.training()
        self.parts: Split = split(self.training.confirmed)

    def evaluation(self, parts: Split | None = None) -> Evaluation:
        with quickly():
            return evaluation.evaluate(
                self.training, parts or self.parts, CauseClassifier(C=0.5), self.codes, self.symptoms, [],
                lambda model: {},
            )  # fmt: skip
