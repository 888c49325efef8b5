"""Figures about checks, as plain loops; records as in plain_reference.

A check is a dict with visit_id, call_id (one of them may be None), source, check, finding, minutes. `reveals`
is a dict: (check, cause) -> share.
"""

from collections import Counter

from tests.outside.plain_episodes import EPISODE_WINDOW_DAYS, episode_facts, episodes, whose_repair
from tests.outside.plain_reference import (
    callbacks,
    day,
    end_for,
    is_completed,
    is_known,
    is_mature,
    is_repair,
    rows_of,
    visits_of,
)

EVIDENCE = {
    "valve_coil_ohms", "valve_seep_test", "line_end_flow", "pressure_static_flowing", "fill_measure",
    "dispenser_catch", "filter_bypass_catch", "inlet_screen_look",
}  # fmt: skip


def checks_of(call, fleet):
    """The checks recorded for a call or for one of its visits."""
    on_visits = [
        check
        for visit_id in visit_ids(call, fleet)
        for check in rows_of(fleet["checks"], "visit_id", visit_id)
    ]
    of_call = rows_of(fleet["checks"], "call_id", call["call_id"])
    return of_call + [check for check in on_visits if check["call_id"] is None]


def visit_ids(call, fleet):
    """Ids of the visits of a call."""
    return {visit["visit_id"] for visit in rows_of(fleet["visits"], "call_id", call["call_id"])}


def without_visit(call, fleet):
    """The checks recorded for a call that name no visit."""
    return [c for c in rows_of(fleet["checks"], "call_id", call["call_id"]) if c["visit_id"] is None]


def episode_of(calls, ends, vocabulary, as_of):
    """For each call in a string with a completed one: is it mature, did it hold, its final cause."""
    of_id = {call["call_id"]: call for call in calls}
    pairs = callbacks(calls, EPISODE_WINDOW_DAYS, "family", vocabulary)
    came_back = {earlier for earlier, _ in pairs}
    found = {}
    for group in episodes(calls, vocabulary):
        facts = episode_facts(group, calls, max(ends.values()), vocabulary)
        if facts["last"] is None:
            continue
        last = of_id[facts["last"]]
        mature = is_mature(last, EPISODE_WINDOW_DAYS, end_for(last, ends, as_of))
        for call_id in group:
            found[call_id] = (mature, facts["last"] not in came_back, facts["final"])
    return found


def records_checks(fleet, vocabulary):
    """Technicians who record checks on at least half of the visits at which somebody let them in."""
    counts = {}
    with_visits = set()
    for call in fleet["calls"]:
        if not is_repair(call, vocabulary):
            continue
        of_call = without_visit(call, fleet)
        for records in visits_of(call, fleet["visits"]):
            with_visits.add(records[0]["technician"])
            if all(record["result"] == "no_access" for record in records):
                continue
            ids = {record["visit_id"] for record in records}
            checked = bool(of_call) or any(rows_of(fleet["checks"], "visit_id", each) for each in ids)
            of, over = counts.get(records[0]["technician"], (0, 0))
            counts[records[0]["technician"]] = (of + 1, over + checked)
    for call in fleet["calls"]:
        who = whose_repair(call, fleet["visits"], vocabulary)
        if is_completed(call, vocabulary) and who not in with_visits:
            of_call = without_visit(call, fleet)
            of, over = counts.get(who, (0, 0))
            counts[who] = (of + 1, over + bool(of_call))
    return {who for who, (of, over) in counts.items() if 2 * over >= of}


def yields(fleet, ends, vocabulary, reveals, as_of=None):
    """By check: times made and what became of them."""
    calls = present(fleet["calls"], as_of)
    episode = episode_of(fleet["calls"], ends, vocabulary, as_of)
    found = {}
    for call in calls:
        mature, held, final = episode.get(call["call_id"], (False, False, None))
        if not mature or not is_repair(call, vocabulary):
            continue
        for check in checks_of(call, fleet):
            sums = found.setdefault(check["check"], dict.fromkeys(NAMES, 0))
            sums["made"] += 1
            known = held and final is not None
            shows = (check["check"], final) in reveals
            faulty, fine = check["finding"] == "fault", check["finding"] == "no_fault"
            sums["found"] += known and faulty and shows
            sums["elsewhere"] += known and faulty and not shows
            sums["ruled_out"] += known and fine and not shows
            sums["missed"] += known and fine and shows
            sums["unknown"] += not known
            if check["minutes"]:
                sums["timed"] += 1
                sums["minutes"] += check["minutes"]
                sums["found_timed"] += known and faulty and shows
    return {check: sums for check, sums in found.items() if any(check == one for one, _ in reveals)}


NAMES = (
    "made", "found", "elsewhere", "ruled_out", "missed", "unknown", "timed", "minutes", "found_timed",
)  # fmt: skip


def present(calls, as_of):
    """The calls that had been opened by a day."""
    return [call for call in calls if as_of is None or day(call["opened"]) <= as_of]


def not_recorded(fleet, ends, vocabulary, reveals, as_of=None):
    """Calls that came back without a check that shows the cause, of how many, and those left out."""
    calls = present(fleet["calls"], as_of)
    episode = episode_of(fleet["calls"], ends, vocabulary, as_of)
    recorders = records_checks(fleet, vocabulary)
    returns_of = Counter(
        earlier for earlier, _ in callbacks(fleet["calls"], EPISODE_WINDOW_DAYS, "family", vocabulary)
    )
    missing, of, left_out, by_check, returns = [], [], [], {}, 0
    for call in calls:
        back = returns_of[call["call_id"]]
        mature, _, final = episode.get(call["call_id"], (False, False, None))
        shows = {check: share for (check, cause), share in reveals.items() if cause == final}
        made = {check["check"] for check in checks_of(call, fleet)}
        if not (back and mature and shows and made):
            continue
        if whose_repair(call, fleet["visits"], vocabulary) not in recorders:
            left_out.append(call["call_id"])
            continue
        of.append(call["call_id"])
        if not made & shows.keys():
            missing.append(max(shows.values()))
            returns += back
            for check, share in shows.items():
                by_check[check] = by_check.get(check, 0) + share
    return len(missing), len(of), sum(missing), len(left_out), returns, by_check


def repairs(fleet, ends, vocabulary, window, match, as_of=None):
    """Counts of completed calls, judged, and come back: by evidence for a valve, and by proof."""
    came_back = {earlier for earlier, _ in callbacks(fleet["calls"], window, match, vocabulary)}
    counts = {}
    for call in present(fleet["calls"], as_of):
        if not is_completed(call, vocabulary) or not is_known(call, as_of):
            continue
        judged = is_mature(call, window, end_for(call, ends, as_of))
        made = checks_of(call, fleet)
        proved = any(c["check"] == "proof_of_repair" and c["finding"] != "fault" for c in made)
        kinds = ["proved" if proved else "checked" if made else "unchecked"]
        if valve_fitted(call, fleet):
            evident = any(check["check"] in EVIDENCE for check in made)
            kinds.append("with evidence" if evident else "without evidence")
        for kind in kinds:
            completed, of, over = counts.get(kind, (0, 0, 0))
            back = judged and call["call_id"] in came_back
            counts[kind] = (completed + 1, of + judged, over + back)
    return counts


def valve_fitted(call, fleet):
    """Whether an inlet valve was fitted on one of the visits of a call."""
    return any(
        part["part"] == "inlet_valve"
        for visit_id in visit_ids(call, fleet)
        for part in rows_of(fleet["parts"], "visit_id", visit_id)
    )
