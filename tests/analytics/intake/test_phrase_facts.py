"""What is known of the calls of phrases, read from a store, and the proposals made of it."""

from datetime import date
from pathlib import Path

import pytest

from analytics import queries
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.analytics.intake.conftest import load_catalogue_once

HEADER = "call_id,unit_id,opened_at,closed_at,complaint,root_cause,first_diagnosis,job_kind\n"
CALLS = (
    "1,A,2026-01-05,2026-01-05,it went wobbly,fill tube frozen,,repair",
    "2,B,2026-01-05,2026-01-05,it went wobbly,zzz gone,,repair",
    "3,C,2026-01-05,2026-01-05,no ice,fill tube frozen,zzz gone,repair",
    "4,D,2026-01-05,2026-01-05,no ice,zzz gone,,repair",
    "5,D,2026-01-15,2026-01-15,no ice,fill tube frozen,,repair",
    "6,E,2026-01-05,2026-01-05,water on the floor,drain plugged,,repair",
    "7,F,2026-01-05,2026-01-05,it went wobbly,fill tube frozen,,inspection",
)
FROZEN = "fill_tube_frozen"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder = tmp_path_factory.mktemp("facts")
    store = Store(folder / "store")
    parts = "call_id,part\n" + "".join(f"{call},zzz pipe\n{call},zzz pipe\n" for call in (1, 3))
    for name, text in (("a.csv", HEADER + "\n".join(CALLS) + "\n"), ("parts.csv", parts)):
        (folder / name).write_text(text)
    load_files(
        store,
        [Path(folder / name) for name in ("a.csv", "parts.csv")],
        today=date(2026, 12, 31),
        catalogue=load_catalogue_once(),
    )
    return store


def facts(store: Store, field: str, trials: int = 0) -> set[tuple[object, ...]]:
    values = {"field": field, "trials": trials}
    rows = queries.frame(store.reader().cursor(), "lists/phrase_facts", values).rows()
    assert len(rows) == len(set(rows))
    return set(rows)


def test_of_complaints_the_final_causes_of_repairs_count(store: Store) -> None:
    assert facts(store, "complaint") == {
        ("it went wobbly", None, "cause", FROZEN, 1, 1),  # call 2 has no known cause, 7 is not a repair
        (None, "no_ice", "cause", FROZEN, 3, 3),  # the string of 4 and 5 ended so
        (None, "leak_floor", "cause", "defrost_drain_blocked", 1, 1),
    }


def test_a_cause_is_no_evidence_for_itself(store: Store) -> None:
    assert facts(store, "root_cause") == {
        ("zzz gone", None, "cause", FROZEN, 2, 2),  # call 3, where it was thought first, and 4, which went on
        ("zzz gone", None, "symptom", "no_ice", 2, 2),
        (None, FROZEN, "symptom", "no_ice", 2, 2),
        (None, "defrost_drain_blocked", "symptom", "leak_floor", 1, 1),
    }


def test_a_text_that_stands_twice_in_a_call_counts_once(store: Store) -> None:
    assert facts(store, "part") == {
        ("zzz pipe", None, "cause", FROZEN, 2, 2),
        ("zzz pipe", None, "symptom", "no_ice", 1, 1),
    }


def test_texts_on_trial_are_counted_by_themselves(store: Store) -> None:
    told = {row[:2] for row in facts(store, "complaint", trials=10)}
    assert told == {("it went wobbly", None), ("no ice", "no_ice"), ("water on the floor", "leak_floor")}


@pytest.mark.parametrize("field", ["check", "finding", "visit_result", "follow_up_answer", "ice_maker_kind"])
def test_fields_of_other_tables_are_answered(store: Store, field: str) -> None:
    assert facts(store, field) == set()


def test_proposals_come_with_what_the_calls_turned_out_to_be(store: Store) -> None:
    (found,) = Fleet(store).proposals("complaint", ["it went wobbly"])
    assert [(each.fact, each.calls, each.known) for each in found.turned_out] == [(FROZEN, 1, 1)]
    assert "no_ice" in [each.code for each in found.meanings]
    assert Fleet(store).proposals("complaint", []) == []
