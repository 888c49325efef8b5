"""Fleets shared by the tests of the demo fleet; nobody writes into their folders."""

from pathlib import Path

import pytest

from synthetic_data import generate
from synthetic_data.dialects import dialects


@pytest.fixture(scope="session")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet of 6,000 calls."""
    return generate(tmp_path_factory.mktemp("fleet"), calls=6_000, seed=7)


@pytest.fixture(scope="session")
def foreign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet of 900 calls, written in every dialect as well."""
    return generate(tmp_path_factory.mktemp("foreign"), calls=900, seed=11, dialects=list(dialects()))
