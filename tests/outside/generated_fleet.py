"""A fleet of the generator with a model fitted to it, quickly: the one that the tests of the model share."""

import pytest

from analytics.fleet import Fleet
from analytics.store import Store
from tests.analytics.causes.fitted_fleet import fit, loaded
from tests.building import built_once


def fitted_fleet(factory: pytest.TempPathFactory) -> Fleet:
    """Return a fleet with a model fitted to it, to be read only."""
    return Fleet(Store(built_once(factory, "fitted", lambda folder: fit(loaded(folder))) / "store"))
