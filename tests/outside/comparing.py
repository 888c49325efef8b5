"""What the plain loops and the program say of a fleet, under the same names, and where they differ."""

from collections.abc import Iterator

from analytics.filters import MATCHES, WINDOWS_DAYS
from tests.outside import comparing_figures, plain_episodes, program
from tests.outside import plain_filter_age as ages
from tests.outside import plain_reference as plain
from tests.outside.random_fleets import BASE, VOCABULARY

COURSES = {"deeper": "went deeper", "different": "different", "same": "same", None: None}
Said = Iterator[tuple[str, object]]


def by_loops(fleet: dict) -> dict[str, object]:
    """Everything that the loops say of a fleet, by name."""
    fleet = fleet | {"calls": plain.understood(fleet["calls"], VOCABULARY)}
    ends = plain.observation_ends(fleet["calls"], fleet["visits"], fleet["extracted"])
    return {
        **dict(_calls_by_loops(fleet)),
        **dict(_filter_ages_by_loops(fleet)),
        "returns": _returns_by_loops(fleet["calls"]),
        "ends": ends,
        "episodes": _episodes_by_loops(fleet["calls"]),
        **dict(comparing_figures.by_loops(fleet, ends)),
    }


def by_program(connection) -> dict[str, object]:
    """The same by the program: its marts, and its facade."""
    return marts_by_program(connection) | dict(
        comparing_figures.by_program(program.facade_that_keeps(connection))
    )


def marts_by_program(connection) -> dict[str, object]:
    """What the program says in its marts."""
    return {
        **dict(_calls_by_program(connection)),
        "returns": _returns_by_program(connection),
        "ends": {
            (row["source"], row["depot"] or None): row["ends_at"]
            for row in program.rows(connection, "marts.observation_ends")
        },
        "episodes": _episodes_by_program(connection),
    }


def differ(loops: dict[str, object], connection) -> bool:
    """Whether the two differ anywhere: the marts are looked at first, for figures take longer."""
    said = marts_by_program(connection)
    if differences({name: loops[name] for name in loops if name in said}, said):
        return True
    return differences(loops, by_program(connection)) != []


def differences(loops: dict[str, object], said: dict[str, object]) -> list[str]:
    """One line for each name under which the two do not say the same."""
    names = sorted(loops.keys() | said.keys())
    nothing = "nothing"
    return [
        f"{name}: the program says {said.get(name, nothing)!r}, the loops {loops.get(name, nothing)!r}"
        for name in names
        if said.get(name, nothing) != loops.get(name, nothing)
    ]


def _calls_by_loops(fleet: dict) -> Said:
    calls, visits = fleet["calls"], fleet["visits"]
    bits: dict = {}
    for at, (match, window) in enumerate((m, w) for m in MATCHES for w in WINDOWS_DAYS):
        for position in (0, 1):
            for call_id in {pair[position] for pair in plain.callbacks(calls, window, match, VOCABULARY)}:
                bits[position, call_id] = bits.get((position, call_id), 0) | 1 << at
    same_day = [earlier for earlier, _ in plain.same_day_pairs(calls, "family", VOCABULARY)]
    for call in calls:
        call_id = call["call_id"]
        yield f"is_repair of {call_id}", plain.is_repair(call, VOCABULARY)
        yield f"is_completed of {call_id}", plain.is_completed(call, VOCABULARY)
        yield f"return_trip_of of {call_id}", call["finishes"]
        yield f"came_back_bits of {call_id}", bits.get((0, call_id), 0)
        yield f"is_callback_bits of {call_id}", bits.get((1, call_id), 0)
        yield f"same_day_calls of {call_id}", same_day.count(call_id)
        yield f"visits of {call_id}", len(plain.visits_of(call, visits))
        yield f"technician of {call_id}", plain_episodes.whose_repair(call, visits, VOCABULARY)


def _filter_ages_by_loops(fleet: dict) -> Said:
    units = {unit["unit_id"]: unit for unit in fleet["units"]}
    for call in fleet["calls"]:
        unit = units.get(call["unit_id"])
        changes = ages.changes_of(call["unit_id"], fleet)
        known = (changes, call["filter_answer"], unit, unit["filter_kind"] if unit else None)
        at_call = ages.age_at_call(call, *known)
        began = ages.age_when_it_began(call, call["duration_days"], *known)
        for name, age in (("filter_age", at_call), ("filter_age_began", began)):
            yield f"{name}_days of {call['call_id']}", age if isinstance(age, int) else None
            yield f"{name}_band of {call['call_id']}", ages.band(age)


def _calls_by_program(connection) -> Said:
    fields = (
        *("is_completed", "return_trip_of", "came_back_bits", "is_callback_bits", "same_day_calls", "visits"),
        *(
            "technician",
            "filter_age_days",
            "filter_age_band",
            "filter_age_began_days",
            "filter_age_began_band",
        ),
    )
    for row in program.rows(connection, "marts.calls"):
        yield f"is_repair of {row['call_id']}", row["standing"] != "not_a_repair"
        for field in fields:
            yield f"{field} of {row['call_id']}", row[field]


def _returns_by_loops(calls: list[dict]) -> set:
    return {
        (earlier, later, match, window)
        for match in MATCHES
        for window in WINDOWS_DAYS
        for earlier, later in plain.callbacks(calls, window, match, VOCABULARY)
    }


def _returns_by_program(connection) -> set:
    return {
        (row["charged_call_id"], row["return_call_id"], row["match"], window)
        for row in program.rows(connection, "marts.returns")
        for at, window in enumerate(WINDOWS_DAYS)
        if row["window_bits"] & 1 << at
    }


def _episodes_by_loops(calls: list[dict]) -> dict:
    """By string of calls with a completed one: last completed call, final cause, course."""
    found = {}
    for group in plain_episodes.episodes(calls, VOCABULARY):
        facts = plain_episodes.episode_facts(group, calls, BASE, VOCABULARY)
        if facts["last"] is not None:
            found[group] = (facts["last"], facts["final"], COURSES[facts["relation"]])
    return found


def _episodes_by_program(connection) -> dict:
    members: dict[str, set[str]] = {}
    for row in program.rows(connection, "marts.calls"):
        members.setdefault(row["episode_id"] or row["call_id"], set()).add(row["call_id"])
    return {
        frozenset(members[row["episode_id"]]): (row["last_call_id"], row["final_cause"], row["course"])
        for row in program.rows(connection, "marts.episodes")
    }
