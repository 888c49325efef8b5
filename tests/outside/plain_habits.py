"""Steps not recorded before a diagnosis, and how those calls fared, as loops; records as in plain_checks."""

from tests.outside import plain_filter_age as ages
from tests.outside.plain_checks import EVIDENCE, records_checks
from tests.outside.plain_episodes import episodes, whose_repair
from tests.outside.plain_reference import moment, visits_of
from tests.outside.plain_turns import on_site, strings

HABITS = ("mould_state", "filter_age", "valve_evidence", "freezer_temperature", "proof_of_repair")
OVER_ICE = {"ice making"}
ABOUT = {
    "mould_state": OVER_ICE, "filter_age": {"ice making", "water at the door", "water quality"},
}  # fmt: skip
THOUGHTS = {
    "valve_evidence": {"inlet_valve_seeping"}, "freezer_temperature": {"module_failed"},
}  # fmt: skip
PARTS = {
    "valve_evidence": {"inlet_valve"}, "freezer_temperature": {"ice_maker_module", "ice_maker_assembly"},
}  # fmt: skip
CHECKS = {
    "mould_state": {"look_at_mould"}, "filter_age": {"filter_look", "ask_history"},
    "valve_evidence": EVIDENCE, "freezer_temperature": {"freezer_temperature"}, "proof_of_repair": set(),
}  # fmt: skip


def let_in(call, fleet):
    """Visits of a call at which somebody let us in."""
    return [
        records
        for records in visits_of(call, fleet["visits"])
        if any(record["result"] != "no_access" for record in records)
    ]


def on_first_visit(call, rows, fleet):
    """The checks or parts recorded until the second visit began, or for the call alone."""
    later = let_in(call, fleet)[1:2]
    begins = moment(later[0][0]["arrived"]) if later else None
    arrived = {
        v["visit_id"]: moment(v["arrived"]) for v in fleet["visits"] if v["call_id"] == call["call_id"]
    }
    found = []
    for row in rows:
        if row["visit_id"] is None:
            found += [row] if row.get("call_id") == call["call_id"] else []
        elif row["visit_id"] in arrived and (begins is None or arrived[row["visit_id"]] < begins):
            found.append(row)
    return found


def applies(habit, call, thought, filter_band, vocabulary, fleet):
    families = {vocabulary["family_of"][symptom] for symptom in call["symptoms"]}
    if habit in ABOUT and not families & ABOUT[habit]:
        return False
    if habit == "filter_age" and filter_band == "not_applicable":
        return False
    if habit not in THOUGHTS:
        return True
    fitted = {part["part"] for part in on_first_visit(call, fleet["parts"], fleet)}
    return thought in THOUGHTS[habit] or bool(fitted & PARTS[habit])


def recorded(habit, call, fleet):
    if habit == "proof_of_repair":
        visits = {visit["visit_id"] for visit in fleet["visits"] if visit["call_id"] == call["call_id"]}
        return any(
            check["check"] == "proof_of_repair" and check["finding"] != "fault"
            for check in fleet["checks"]
            if check["visit_id"] in visits or (not check["visit_id"] and check["call_id"] == call["call_id"])
        )
    made = {check["check"] for check in on_first_visit(call, fleet["checks"], fleet)}
    return bool(made & CHECKS[habit]) or (habit == "filter_age" and call["filter_answer"] is not None)


def band_of(call, fleet):
    unit = next((unit for unit in fleet["units"] if unit["unit_id"] == call["unit_id"]), None)
    changes = ages.changes_of(call["unit_id"], fleet)
    kind = unit["filter_kind"] if unit else None
    return ages.band(ages.age_at_call(call, changes, call["filter_answer"], unit, kind))


def habits(fleet, ends, vocabulary, as_of=None):
    """By habit: not recorded, of how many, left out; sums and calls of each outcome without and with it."""
    calls = {call["call_id"]: call for call in fleet["calls"]}
    recorders = records_checks(fleet, vocabulary)
    group_of = {call_id: group for group in episodes(fleet["calls"], vocabulary) for call_id in group}
    found = {habit: {"counts": [0, 0, 0], "rows": []} for habit in HABITS}
    for call_id, about in strings(fleet, ends, vocabulary, as_of).items():
        call = calls[call_id]
        if not visits_of(call, fleet["visits"]):
            continue
        families = sorted({vocabulary["family_of"][symptom] for symptom in call["symptoms"]})
        stratum = (tuple(families), band_of(call, fleet))
        minutes = minutes_of_returns([calls[each] for each in group_of[call_id]], call_id, fleet)
        for habit in HABITS:
            if not applies(habit, call, about["thought"], stratum[1], vocabulary, fleet):
                continue
            counts = found[habit]["counts"]
            if whose_repair(call, fleet["visits"], vocabulary) not in recorders:
                counts[2] += 1
                continue
            missing = not recorded(habit, call, fleet)
            counts[0] += missing
            counts[1] += 1
            found[habit]["rows"].append((stratum, missing, about, minutes))
    return found


def minutes_of_returns(members, first_id, fleet):
    """Minutes on the further visits of a string that are not on its first call."""
    visits = [
        (moment(records[0]["arrived"]), call["call_id"], number, records)
        for call in members
        for number, records in enumerate(visits_of(call, fleet["visits"]))
        if any(record["result"] != "no_access" for record in records)
    ]
    further = sorted(visits, key=lambda each: each[:3])[1:]
    return sum(on_site(records) or 0.0 for _, call_id, _, records in further if call_id != first_id)


def fared(rows, outcome):
    """Sums and calls without and with the step, and the difference within strata."""
    if outcome == "different":
        rows = [row for row in rows if row[2]["standing"]]
    value_of = {
        "different": lambda row: float(row[2]["standing"] == "different"),
        "came_back": lambda row: float(row[2]["returns"] > 0),
        "minutes": lambda row: row[3],
    }[outcome]
    sides = [[value_of(row) for row in rows if row[1] is missing] for missing in (True, False)]
    over, weights = 0.0, 0.0
    for stratum in {row[0] for row in rows}:
        without, within = (
            [value_of(row) for row in rows if row[0] == stratum and row[1] is missing]
            for missing in (True, False)
        )
        if without and within:
            weight = len(without) * len(within) / (len(without) + len(within))
            over += weight * (sum(without) / len(without) - sum(within) / len(within))
            weights += weight
    difference = round(over / weights, 6) if weights else None
    return (round(sum(sides[0]), 6), len(sides[0]), round(sum(sides[1]), 6), len(sides[1]), difference)
