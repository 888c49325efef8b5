"""One fleet with a model fitted to it, for all tests that need a fit."""

import pytest

from analytics.fleet import Fleet
from analytics.store import Store
from tests.analytics.causes.fitted_fleet import fit, loaded


@pytest.fixture(scope="session")
def fitted_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    store = loaded(tmp_path_factory.mktemp("fitted"))
    fit(store)
    return store


@pytest.fixture(scope="session")
def fitted_fleet(fitted_store: Store) -> Fleet:
    return Fleet(fitted_store)
