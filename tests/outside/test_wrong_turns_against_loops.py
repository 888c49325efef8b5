"""Wrong turns of random fleets, against plain loops written apart."""

import random
from functools import cache

import pytest

from analytics import queries
from analytics.filters import Filters
from analytics.questions import checks
from tests.outside import plain_reference as plain
from tests.outside import plain_turns, program
from tests.outside.comparing import differences
from tests.outside.comparing_figures import AS_OF
from tests.outside.random_fleets import CAUSES, VOCABULARY, beside, fleet
from tests.outside.twins import Twin, broken

ASKED = (None, AS_OF[1], AS_OF[2])
PARTS = ("water_filter", "inlet_valve", "ice_maker_module")


def with_thoughts(drawn: dict, pick) -> dict:
    """The fleet with a first diagnosis on most calls, and more kinds of parts."""
    calls = [
        call | {"first_diagnosis": pick((None, call["cause"], call["cause"], *CAUSES))}
        for call in drawn["calls"]
    ]
    return drawn | {"calls": calls, "parts": [part | {"part": pick(PARTS)} for part in drawn["parts"]]}


@cache
def many() -> dict:
    """The fleets of 250 seeds, side by side: the same at every run."""
    drawn = []
    for seed in range(250):
        rng = random.Random(seed)
        drawn.append(with_thoughts(fleet(rng.choice), rng.choice))
    together = beside(drawn)
    together["calls"] = plain.understood(together["calls"], VOCABULARY)
    return together


@cache
def by_loops() -> dict[str, object]:
    drawn, said = many(), {}
    ends = plain.observation_ends(drawn["calls"], drawn["visits"], drawn["extracted"])
    answers = set(program.catalogue().frames()["part_answers"].rows())
    for as_of in ASKED:
        found = plain_turns.strings(drawn, ends, VOCABULARY | {"answers": answers}, as_of)
        cells, parts = {}, {}
        for one in found.values():
            for part in one["parts"]:
                parts[part] = parts.get(part, 0) + 1
            if one["standing"]:
                key = (one["thought"], one["final"], one["standing"])
                before = cells.get(key, (0, 0, 0, 0.0, 0, 0))
                took = (1, one["returns"], one["visits"], one["minutes"], one["untimed"], len(one["parts"]))
                cells[key] = tuple(a + b for a, b in zip(before, took, strict=True))
        said |= {f"{key}, as of {as_of}": counts for key, counts in cells.items()}
        said[f"parts, as of {as_of}"] = parts
        said[f"calls, as of {as_of}"] = len(found)
    return said


def by_program() -> dict[str, object]:
    facade, said = program.facade(program.built(many())), {}
    for as_of in ASKED:
        found = facade.wrong_turns(Filters(as_of=as_of))
        for row in found.matrix.to_dicts():
            key = (row["first_thought"], row["final_cause"], row["standing"])
            names = ("calls", "returns", "visits", "minutes", "untimed", "parts")
            said[f"{key}, as of {as_of}"] = tuple(row[name] for name in names)
        said[f"parts, as of {as_of}"] = dict(found.parts.select("part", "parts").rows())
        said[f"calls, as of {as_of}"] = found.calls
    return said


def test_program_and_loops_agree() -> None:
    assert differences(by_loops(), by_program()) == []
    standings = [key.split("'")[5] for key in by_loops() if "as of None" in key and "'" in key]
    assert {standings.count(name) > 1 for name in ("different", "right", "none_found")} == {True}
    assert "went_deeper" in standings
    assert by_loops()["calls, as of None"] > by_loops()[f"calls, as of {AS_OF[1]}"]


THOUGHTS = "metrics/first_thoughts"
TWINS = (
    Twin("the cause of the call comes first", "schema/views_teaching",
         (("coalesce(first_calls.first_diagnosis, first_calls.cause) as first_thought",
           "coalesce(first_calls.cause, first_calls.first_diagnosis) as first_thought"),)),
    Twin("went deeper is something else", "schema/views_teaching",
         (("when goes_deeper.cause is not null then 'went_deeper'", ""),)),
    Twin("nobody home is a visit", THOUGHTS, (("where visits.let_in", ""),)),
    Twin("each call has a first visit of its own", THOUGHTS,
         (("partition by members.episode_id", "partition by members.call_id"),)),
    Twin("days without a time are timed", THOUGHTS, (("visits.arrived_has_time", "true"),)),
    Twin("parts of the last call count too", "metrics/parts_not_the_cause",
         (("(calls.opened_at, calls.call_id) < (last_calls.opened_at, last_calls.call_id)", "true"),)),
    Twin("every part answers something else", "metrics/parts_not_the_cause",
         (("and part_answers.cause = earlier.final_cause", ""),)),
)  # fmt: skip


@pytest.mark.parametrize("twin", TWINS, ids=lambda twin: twin.name)
def test_broken_statements_are_caught(twin: Twin, monkeypatch: pytest.MonkeyPatch) -> None:
    by_loops()
    monkeypatch.setattr(queries, "statement", broken(twin))
    assert differences(by_loops(), by_program()) != []


def test_young_strings_counted_are_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    by_loops()
    monkeypatch.setattr(checks, "settled", lambda on, cutoffs: on.place > 0)
    assert differences(by_loops(), by_program()) != []
