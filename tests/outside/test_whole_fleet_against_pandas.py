"""A demo fleet from its CSV files: headline figures of the store against the pandas script, call by call."""

import pytest

from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import generate
from tests.benchmarks import pandas_figures
from tests.benchmarks.fleet_files import TABLES, words_file
from tests.benchmarks.parts import headline


@pytest.fixture(scope="module")
def loaded(tmp_path_factory):
    """A store, and the frames that the pandas script reads from the same files."""
    folder = tmp_path_factory.mktemp("fleet")
    generate(folder / "files", calls=3000, seed=7)
    store = Store(folder / "store")
    load_files(store, [folder / "files" / f"{table}.csv" for table in TABLES])
    frames = pandas_figures.read_fleet(folder / "files", words_file(store, folder / "words.csv"))
    return folder / "store", frames


@pytest.mark.parametrize("match", ["family", "any"])
@pytest.mark.parametrize("window", [7, 30, 90])
def test_store_and_pandas_agree(loaded, window, match):
    store, frames = loaded
    expected = pandas_figures.figures(*frames, window_days=window, match=match)
    assert expected["callback_rate"]["numerator"] > 0, "nothing came back: the fleet shows nothing"
    assert headline(store, window, match) == expected
