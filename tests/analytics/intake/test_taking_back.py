"""A file that was taken back leaves the store as if it had never been loaded, whatever it did."""

import random
import shutil
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from analytics import queries
from analytics.errors import BadQuestion, UnknownRecord
from analytics.intake import taking_back
from analytics.intake.loading import load_files
from analytics.intake.taking_back import take_back
from analytics.store import Store
from tests.analytics.intake.conftest import load_catalogue_once

TODAY = date(2026, 12, 31)
COMPLAINTS = ("no ice", "water on the floor", "slow water", "ice tastes bad", "odd thing")
CAUSES = ("fill tube frozen", "inlet valve leaks by", "", "gremlins")
SEEDS = (0, 1, 3)


def text(header: str, rows: list[list[str]]) -> str:
    return "\n".join([header, *(",".join(row) for row in rows)]) + "\n"


def fleet_files(rng: random.Random, month: int) -> dict[str, str]:
    """Files of one month; ids come from a small pool, so that months overlap, repeat and contradict."""
    calls, visits, checks, parts, units, filters, asked = [], [], [], [], [], [], []
    for number in sorted(rng.sample(range(24), 14)):
        day = rng.randint(1, 20)
        opened, call = f"2026-{month:02d}-{day:02d}", f"C{number}"
        if number < 8:  # the same row in each month
            opened, rest = f"2026-01-{number + 1:02d}", ("no ice", "fill tube frozen")
        else:
            rest = (rng.choice(COMPLAINTS), rng.choice(CAUSES))
        calls.append(
            [call, f"U{number % 4 if number < 8 else rng.randint(0, 4)}", opened, opened, *rest, "done"]
        )
        if rng.random() < 0.7:
            visit = f"V{number}-{rng.randint(0, 1)}"
            visits.append([visit, call, opened + " 10:00", rng.choice(["T1", "T2"])])
            checks.append([visit, rng.choice(["seep test", "coil resistance"]), rng.choice(["fault", "ok"])])
            parts.append([visit, rng.choice(["inlet valve", "water filter"]), str(rng.randint(1, 2))])
    for unit in range(rng.randint(2, 5)):
        units.append([f"U{unit}", "2024-01-01", rng.choice(["north", "south"])])
        filters.append([f"U{unit}", f"2025-{rng.randint(1, 12):02d}-01"])
    for row in rng.sample(calls, 4):
        asked.append([row[0], f"2026-{month + 1:02d}-25", rng.choice(["yes works", "no"])])
    calls.append(["C99", "U1", "never", "", "no ice", "", ""])  # set aside
    return {
        "calls": text("call_id,unit_id,opened_at,closed_at,complaint,root_cause,outcome", calls),
        "visits": text("visit_id,call_id,arrived_at,technician_id", visits),
        "checks": text("visit_id,check,finding", checks),
        "parts": text("visit_id,part,quantity", parts),
        "units": text("unit_id,installed_on,depot", units),
        "filter_changes": text("unit_id,changed_on", filters),
        "follow_ups": text("call_id,asked_on,answer", asked),
    }


def load_month(store: Store, folder: Path, files: dict[str, str], month: int, full: bool) -> int:
    paths = []
    for table, content in files.items():
        paths.append(folder / f"{table}_{month}.csv")
        paths[-1].write_text(content)
    report = load_files(
        store,
        paths,
        extracted=date(2026, month + 1, 28),
        full_extract=full,
        today=TODAY,
        catalogue=load_catalogue_once(),
    )
    assert report.load_id is not None
    return report.load_id


def all_that_counts(store: Store) -> dict[str, list[tuple]]:
    """Records and marts as sorted rows; numbers given in the order of meeting are spelt out or left out."""
    cursor = store.reader().cursor()
    tables = (
        "calls", "visits", "checks", "parts", "units", "filter_changes", "technicians", "follow_ups",
    )  # fmt: skip
    wanted = {f"records.{name}": f"from records.{name}" for name in tables}
    wanted |= {
        f"marts.{name}": f"from marts.{name}" for name in ("returns", "visits", "choices", "unrecognised")
    }
    wanted |= {
        "marts.calls": "select calls.* exclude (place, symptom_set, part_set), symptoms, parts "
        "from marts.calls join marts.symptom_sets using (symptom_set) join marts.part_sets using (part_set)",
        "marts.episodes": "select * exclude (place) from marts.episodes",
        "marts.observation_ends": "select * exclude (place) from marts.observation_ends",
        "loads.files": "from loads.files",
        "loads.set_aside": "from loads.set_aside",
    }
    return {name: sorted(cursor.execute(query).fetchall(), key=repr) for name, query in wanted.items()}


Everything = dict[str, list[tuple]]
TwoMonths = Callable[[int], tuple[Everything, Path]]


@pytest.fixture(scope="module")
def two_months(tmp_path_factory: pytest.TempPathFactory) -> TwoMonths:
    """What a store of a seed held after its first month, and the store after two: made once, to be copied."""

    @cache
    def made(seed: int) -> tuple[Everything, Path]:
        rng, folder = random.Random(seed), tmp_path_factory.mktemp("months")
        store = Store(folder / "store")
        load_month(store, folder, fleet_files(rng, 1), 1, full=False)
        alone = all_that_counts(store)
        full = rng.random() < 0.5
        assert load_month(store, folder, fleet_files(rng, 2), 2, full) == 2
        assert all_that_counts(store) != alone
        return alone, store.folder

    return made


def back_and_forth(two_months: TwoMonths, tmp_path: Path, seed: int) -> tuple[Everything, Everything]:
    alone, folder = two_months(seed)
    store = Store(shutil.copytree(folder, tmp_path / "store"))
    take_back(store, load_id=2, catalogue=load_catalogue_once())
    return alone, all_that_counts(store)


@pytest.mark.parametrize("seed", SEEDS)
def test_taken_back_is_never_loaded(two_months: TwoMonths, tmp_path: Path, seed: int) -> None:
    alone, after = back_and_forth(two_months, tmp_path, seed)
    assert after == alone


def leaving_out(left_out: str, table: str) -> Callable[..., None]:
    """The same, but for one statement on one table."""

    def run(connection: object, name: str, values: dict | None = None) -> None:
        if not (name == left_out and values and values["table"] == table):
            queries_run(connection, name, values)  # type: ignore[arg-type]

    return run


queries_run = queries.run


@pytest.mark.parametrize(
    ("left_out", "table"),
    [
        ("taking_back/removed", "parts"),
        ("taking_back/put_back", "calls"),
        ("taking_back/moved_back", "units"),
    ],
)
def test_a_table_that_is_left_out_is_caught(
    two_months: TwoMonths, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, left_out: str, table: str
) -> None:
    two_months(3)  # loaded as it should be, whatever test comes first
    monkeypatch.setattr(taking_back.queries, "run", leaving_out(left_out, table))
    alone, after = back_and_forth(two_months, tmp_path, seed=3)
    assert after != alone


@pytest.fixture(scope="module")
def three_months(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("three")
    store, rng = Store(folder / "store"), random.Random(7)
    for month in (1, 2, 3):
        load_month(store, folder, fleet_files(rng, month), month, full=False)
    return store.folder


@pytest.fixture
def store(three_months: Path, tmp_path: Path) -> Store:
    """Three months, the first two of which overlap with the next."""
    return Store(shutil.copytree(three_months, tmp_path / "store"))


def test_files_that_hang_on_it_go_with_it_or_not_at_all(store: Store) -> None:
    before = all_that_counts(store)
    with pytest.raises(BadQuestion, match="hangs on this one"):
        take_back(store, load_id=2)
    assert all_that_counts(store) == before
    taken = take_back(store, load_id=2, with_later=True)
    numbers = [each.file_id for each in taken.files]
    assert "calls_3.csv" in taken.later
    assert numbers == sorted(numbers, reverse=True)
    assert all(row[1] != 2 for row in all_that_counts(store)["loads.files"])


def test_a_trial_says_the_same_and_changes_nothing(store: Store) -> None:
    before = all_that_counts(store)
    tried = take_back(store, load_id=3, trial=True)
    assert all_that_counts(store) == before
    done = take_back(store, load_id=3)
    assert tried.load_id is None
    assert done.load_id == 4
    assert (tried.files, tried.before, tried.after) == (done.files, done.before, done.after)
    assert done.after["calls"] == len(all_that_counts(store)["marts.calls"])


def test_it_can_be_loaded_again_or_gone_back_to(store: Store, tmp_path: Path) -> None:
    before = all_that_counts(store)
    take_back(store, load_id=3)
    with pytest.raises(UnknownRecord, match="no load 3"):
        take_back(store, load_id=3)
    store.go_back()
    assert all_that_counts(store) == before
    take_back(store, load_id=3)
    rng = random.Random(7)
    months = [fleet_files(rng, month) for month in (1, 2, 3)]
    load_month(store, tmp_path, months[2], 3, full=False)
    again = all_that_counts(store)
    assert again["marts.calls"] == before["marts.calls"]
    assert again["marts.episodes"] == before["marts.episodes"]


def test_the_only_load_can_be_taken_back(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    load_month(store, tmp_path, fleet_files(random.Random(1), 1), 1, full=False)
    taken = take_back(store, load_id=1)
    assert taken.after == {"calls": 0, "callbacks": 0}
    assert all_that_counts(store)["records.calls"] == []


def test_what_is_not_there_is_said(store: Store) -> None:
    with pytest.raises(UnknownRecord, match="no file 99"):
        take_back(store, [99])
    with pytest.raises(BadQuestion, match="Name the file"):
        take_back(store)
