"""Habits of random fleets, against plain loops written apart."""

import random
from functools import cache

import pytest

from analytics import queries
from analytics.filters import Filters
from analytics.questions import check_ground, checks, habits
from tests.outside import plain_habits, program
from tests.outside import plain_reference as plain
from tests.outside.comparing import differences
from tests.outside.comparing_figures import AS_OF
from tests.outside.random_fleets import VOCABULARY, beside, fleet
from tests.outside.test_checks_against_loops import with_checks
from tests.outside.test_wrong_turns_against_loops import with_thoughts
from tests.outside.twins import Twin, broken

ASKED = (None, AS_OF[2])


@cache
def many() -> dict:
    """The fleets of 150 seeds, side by side: the same at every run."""
    drawn = []
    for seed in range(150):
        rng = random.Random(seed)
        drawn.append(with_checks(with_thoughts(fleet(rng.choice), rng.choice), rng.choice, seed))
    together = beside(drawn)
    together["checks"] = [check for one in drawn for check in one["checks"]]
    together["calls"] = plain.understood(together["calls"], VOCABULARY)
    return together


@cache
def by_loops() -> dict[str, object]:
    drawn, said = many(), {}
    ends = plain.observation_ends(drawn["calls"], drawn["visits"], drawn["extracted"])
    answers = set(program.catalogue().frames()["part_answers"].rows())
    for as_of in ASKED:
        found = plain_habits.habits(drawn, ends, VOCABULARY | {"answers": answers}, as_of)
        for habit, about in found.items():
            said[f"{habit}, as of {as_of}"] = tuple(about["counts"])
            for outcome in habits.OUTCOMES[habit == "proof_of_repair" :]:
                said[f"{habit}, {outcome}, as of {as_of}"] = plain_habits.fared(about["rows"], outcome)
    return said


def by_program() -> dict[str, object]:
    facade, said = program.facade(program.built(many())), {}
    for as_of in ASKED:
        found = facade.habits(Filters(as_of=as_of))
        for row in found.habits.to_dicts():
            said[f"{row['habit']}, as of {as_of}"] = (row["not_recorded"], row["calls"], row["left_out"])
        for row in found.fared.to_dicts():
            sides = ("without_sum", "without_calls", "with_sum", "with_calls", "difference")
            counts = tuple(None if row[name] is None else round(row[name], 6) for name in sides)
            said[f"{row['habit']}, {row['outcome']}, as of {as_of}"] = counts
    return said


def test_program_and_loops_agree() -> None:
    assert differences(by_loops(), by_program()) == []
    for habit in ("filter_age", "valve_evidence", "proof_of_repair"):
        missing, of, left_out = by_loops()[f"{habit}, as of None"]  # type: ignore[misc]
        assert min(missing, of - missing, left_out) > 5, f"the fleets hold enough of {habit}"


TWINS = (
    Twin("later visits count", "metrics/on_first_visit",
         (("where place_in_call = 2", "where place_in_call = 99"),)),
    Twin("nobody home is a first visit", "metrics/on_first_visit", (("visits.let_in and", ""),)),
    Twin("every answer is one", "metrics/answers_recorded", (("where coded.answered", "where true"),)),
    Twin("nobody went", "metrics/first_thoughts", (("calls.visits > 0 or not", "true or not"),)),
    Twin("minutes of the first call count", "metrics/first_thoughts",
         (("filter (of_return and", "filter ("),)),
)  # fmt: skip


@pytest.mark.parametrize("twin", TWINS, ids=lambda twin: twin.name)
def test_broken_statements_are_caught(twin: Twin, monkeypatch: pytest.MonkeyPatch) -> None:
    by_loops()
    monkeypatch.setattr(queries, "statement", broken(twin))
    assert differences(by_loops(), by_program()) != []


BROKEN = {
    "young strings count": (checks, "settled", lambda on, cutoffs: on.place > 0),
    "the recording rule is ignored": (check_ground, "FEWEST_VISITS_CHECKED", 0.0),
    "all calls are alike": (habits, "difference_within", lambda values, first, strata, clusterings: None),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_rules_are_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    by_loops()
    monkeypatch.setattr(*BROKEN[name])
    assert differences(by_loops(), by_program()) != []
