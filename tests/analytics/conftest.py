"""One fleet with a model fitted to it, for all tests that need a fit."""

import pytest

from analytics.fleet import Fleet
from analytics.store import Store
from tests.analytics.causes.fitted_fleet import fit, loaded
from tests.building import built_once


@pytest.fixture(scope="session")
def fitted_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder = built_once(tmp_path_factory, "fitted", lambda folder: fit(loaded(folder)))
    return Store(folder / "store")


@pytest.fixture(scope="session")
def fitted_fleet(fitted_store: Store) -> Fleet:
    return Fleet(fitted_store)
