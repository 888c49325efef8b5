"""Episodes, final causes and whose a repair is, as plain loops; records as in plain_reference.

The vocabulary adds can_be_final (causes that may be a final cause) and deeper (pairs: cause, than),
visit_work_done (visit results on which work was done).
"""

from datetime import timedelta

from tests.outside.plain_reference import (
    callbacks,
    effective_closing,
    is_completed,
    is_repair,
    moment,
    rows_of,
    visits_of,
)

EPISODE_WINDOW_DAYS = 30


def episodes(calls, vocabulary):
    """Groups of call ids: every repair call, joined by 30-day callbacks of the same family, always."""
    group_of = {call["call_id"]: {call["call_id"]} for call in calls if is_repair(call, vocabulary)}
    for earlier, later in callbacks(calls, EPISODE_WINDOW_DAYS, "family", vocabulary):
        joined = group_of[earlier] | group_of[later]
        for call_id in joined:
            group_of[call_id] = joined
    return {frozenset(group) for group in group_of.values()}


def members(group, calls):
    """The calls of an episode."""
    return [call for call_id in group for call in rows_of(calls, "call_id", call_id)]


def last_completed(group, calls, vocabulary):
    """The completed call of an episode that was closed latest, or None."""
    done = [call for call in members(group, calls) if is_completed(call, vocabulary)]
    if not done:
        return None
    return max(done, key=lambda c: (moment(effective_closing(c)), moment(c["opened"]), c["call_id"]))


def known_cause(call, vocabulary):
    """The cause recorded on a call, None where it is not recognised or says that no fault was found."""
    return call["cause"] if call["cause"] in vocabulary["can_be_final"] else None


def episode_facts(group, calls, end, vocabulary):
    """Last completed call, whether the episode is mature, final cause, and how earlier calls relate to it.

    The relation is "deeper" where the final cause goes deeper than each other known cause of an earlier
    call, "different" where one of those is another cause, "same" where earlier calls agree, None where
    there is nothing to compare.
    """
    last = last_completed(group, calls, vocabulary)
    if last is None:
        return {"last": None, "mature": False, "final": None, "relation": None}
    final = known_cause(last, vocabulary)
    mature = moment(effective_closing(last)) + timedelta(days=EPISODE_WINDOW_DAYS) <= end
    earlier = [
        known_cause(call, vocabulary)
        for call in members(group, calls)
        if (moment(call["opened"]), call["call_id"]) < (moment(last["opened"]), last["call_id"])
    ]
    others = {cause for cause in earlier if cause is not None}
    if final is None or not others:
        relation = None
    elif others == {final}:
        relation = "same"
    elif all((final, cause) in vocabulary["deeper"] for cause in others - {final}):
        relation = "deeper"
    else:
        relation = "different"
    return {"last": last["call_id"], "mature": mature, "final": final, "relation": relation}


def whose_repair(call, visits, vocabulary):
    """The first to arrive on the last visit on which work was done; else the technician named on the call."""
    at_work = [
        records[0]["technician"]
        for records in visits_of(call, visits)
        if any(record["result"] in vocabulary["visit_work_done"] for record in records)
    ]
    return at_work[-1] if at_work else call["technician"]
