"""A phrase that is settled means the same in what is loaded and in what comes, until that is taken back."""

from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadQuestion
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.intake.settling_phrases import Settled, settle
from analytics.store import Store
from tests.analytics.intake.conftest import load_catalogue_once

HEADER = "call_id,unit_id,opened_at,closed_at,complaint\n"


def load(store: Store, folder: Path, name: str, *rows: str) -> None:
    (folder / name).write_text(HEADER + "\n".join(rows) + "\n")
    load_files(store, [folder / name], today=date(2026, 12, 31), catalogue=load_catalogue_once())


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "store")
    load(
        store,
        tmp_path,
        "a.csv",
        "1,U,2026-01-05,2026-01-05,it went wobbly",
        "2,U,2026-01-09,2026-01-09,no ice",
    )
    return store


def symptoms(store: Store) -> dict[str, list[str]]:
    rows = (
        store.reader()
        .cursor()
        .execute("select call_id, symptoms from marts.calls join marts.symptom_sets using (symptom_set)")
    )
    return dict(rows.fetchall())


def test_settled_for_what_is_loaded_and_for_what_comes_until_taken_back(store: Store, tmp_path: Path) -> None:
    catalogue = load_catalogue_once()
    assert symptoms(store) == {"1": [], "2": ["no_ice"]}
    assert settle(store, [Settled("complaint", "It went wobbly ", ("no_ice",))], catalogue=catalogue)
    assert symptoms(store)["1"] == ["no_ice"]
    assert Fleet(store).unrecognised()[1] == 0
    load(store, tmp_path, "b.csv", "3,V,2026-02-05,2026-02-05,IT WENT WOBBLY")
    assert symptoms(store)["3"] == ["no_ice"]
    assert settle(store, [Settled("complaint", "it went wobbly", None)], catalogue=catalogue)
    assert symptoms(store) == {"1": [], "2": ["no_ice"], "3": []}
    assert Fleet(store).unrecognised()[1] == 2


def test_settling_makes_the_return_that_it_shows(store: Store) -> None:
    count = "select count(*) from marts.returns where match = 'family'"
    assert store.reader().cursor().execute(count).fetchone() == (0,)
    settle(store, [Settled("complaint", "it went wobbly", ("no_ice",))], catalogue=load_catalogue_once())
    assert store.reader().cursor().execute(count).fetchone() == (1,)


def test_a_phrase_can_mean_nothing(store: Store) -> None:
    assert settle(store, [Settled("complaint", "it went wobbly", ())], catalogue=load_catalogue_once())
    assert Fleet(store).unrecognised()[1] == 0
    assert not settle(store, [Settled("complaint", "it went wobbly", ())], catalogue=load_catalogue_once())


@pytest.mark.parametrize(
    "wrong",
    [
        Settled("nowhere", "x", ()),
        Settled("complaint", "x", ("no_such",)),
        Settled("check", "x", ("no_ice",)),
    ],
)
def test_what_the_catalogue_does_not_have_is_refused(store: Store, wrong: Settled) -> None:
    before = store.current()
    with pytest.raises(BadQuestion):
        settle(store, [wrong], catalogue=load_catalogue_once())
    assert store.current() == before
