"""Fleets shared by the tests of the demo fleet; nobody writes into their folders."""

from pathlib import Path

import pytest

from synthetic_data import generate
from synthetic_data.dialects import dialects
from tests.building import built_once


@pytest.fixture(scope="session")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet of 6,000 calls."""
    return built_once(tmp_path_factory, "fleet", lambda folder: generate(folder, calls=6_000, seed=7))


@pytest.fixture(scope="session")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet of 15,000 calls, for what shows only among many."""
    return built_once(tmp_path_factory, "large", lambda folder: generate(folder, calls=15_000, seed=3))


@pytest.fixture(scope="session")
def foreign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet of 900 calls, written in every dialect as well."""
    return built_once(
        tmp_path_factory,
        "foreign",
        lambda folder: generate(folder, calls=900, seed=11, dialects=list(dialects())),
    )
