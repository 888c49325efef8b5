"""Wrong turns and what followed them, as plain loops; records as in plain_reference.

A call may have a first_diagnosis, a part a cost. The vocabulary adds answers: pairs (part, cause).
"""

from tests.outside.plain_checks import episode_of, present
from tests.outside.plain_episodes import EPISODE_WINDOW_DAYS, episodes, known_cause, last_completed
from tests.outside.plain_reference import callbacks, has_time, is_completed, moment, visits_of


def strings(fleet, ends, vocabulary, as_of=None):
    """By first call of a string that is mature: first thought, final cause, standing, and what followed."""
    calls = {call["call_id"]: call for call in fleet["calls"]}
    here = {call["call_id"] for call in present(fleet["calls"], as_of)}
    charged = callbacks(fleet["calls"], EPISODE_WINDOW_DAYS, "family", vocabulary)
    returns = {later for _, later in charged}
    mature = episode_of(fleet["calls"], ends, vocabulary, as_of)
    found = {}
    for group in episodes(fleet["calls"], vocabulary):
        last = last_completed(group, fleet["calls"], vocabulary)
        (first_id,) = [call_id for call_id in group if call_id not in returns]
        if last is None or first_id not in here or not mature[first_id][0]:
            continue
        first = calls[first_id]
        assert is_completed(first, vocabulary), "only completed calls come back"
        thought, final = first["first_diagnosis"] or first["cause"], known_cause(last, vocabulary)
        found[first_id] = {
            "thought": thought,
            "final": final,
            "standing": standing(thought, final, vocabulary),
            "returns": len(group) - 1,
            **further([calls[call_id] for call_id in group], fleet),
            "parts": not_the_cause(group, last, final, calls, fleet, vocabulary),
        }
    return found


def standing(thought, final, vocabulary):
    if thought is None or final is None:
        return None
    if thought == final:
        return "right"
    if thought not in vocabulary["can_be_final"]:
        return "none_found"
    return "went_deeper" if (final, thought) in vocabulary["deeper"] else "different"


def further(calls, fleet):
    """Visits after the first at which somebody let us in: how many, their minutes, how many not timed."""
    let_in = []
    for call in calls:
        for number, records in enumerate(visits_of(call, fleet["visits"])):
            if any(record["result"] != "no_access" for record in records):
                let_in.append((moment(records[0]["arrived"]), call["call_id"], number, records))
    minutes, untimed = 0.0, 0
    for *_, records in sorted(let_in, key=lambda each: each[:3])[1:]:
        lasted = on_site(records)
        minutes += lasted or 0.0
        untimed += lasted is None
    return {"visits": max(len(let_in) - 1, 0), "minutes": minutes, "untimed": untimed}


def on_site(records):
    """Minutes from the first arriving to the last leaving, where all that is known."""
    left = [record["left"] for record in records if record["left"] is not None]
    if not left or not has_time(records[0]["arrived"]):
        return None
    lasted = (max(left) - records[0]["arrived"]).total_seconds() / 60
    return lasted if 0 < lasted <= 720 else None


def not_the_cause(group, last, final, calls, fleet, vocabulary):
    """Parts fitted on calls opened before the last completed one that do not answer the final cause."""
    before = (moment(last["opened"]), last["call_id"])
    earlier = {c for c in group if (moment(calls[c]["opened"]), c) < before}
    visits = {visit["visit_id"] for visit in fleet["visits"] if visit["call_id"] in earlier}
    return sorted(
        part["part"]
        for part in fleet["parts"]
        if part["visit_id"] in visits and final and (part["part"], final) not in vocabulary["answers"]
    )
