"""The definitions once more, as plain loops over lists of dicts: slow, obvious, and independent.

Nothing here looks at the program's SQL; the two are compared on random fleets. Where a time of day is known
the value is a `datetime`, where only a day is known it is a `date`: "compare as dates" can then be seen in
the type.

A call is a dict with call_id, unit_id, source, depot, opened, closed (None: open), symptoms (list of codes),
says_return_trip, says_same, cause, first_diagnosis, outcome (None: blank or not recognised), technician,
job_kind, closing_recorded, outcome_recorded. A visit: visit_id, call_id, source, technician, helper,
arrived, left (or None), result. Vocabulary: family_of (symptom -> family or None), no_work (outcomes on
which no work was done), repair_kinds.
"""

from datetime import datetime, time, timedelta

RETURN_TRIP_DAYS = 90
QUIET_DAYS = 14


_indexes: dict = {}


def rows_of(rows, column, value):
    """The rows with this value in a column, looked up in an index that is made once for each list of rows."""
    found = _indexes.get((id(rows), column))
    if found is None or found[0] is not rows or found[1] != len(rows):
        if len(_indexes) > 50:
            _indexes.clear()
        index: dict = {}
        for row in rows:
            index.setdefault(row[column], []).append(row)
        found = _indexes[id(rows), column] = rows, len(rows), index
    return found[2].get(value, [])


def moment(value):
    """The instant a time is sorted by; a day without a time stands at its midnight."""
    return value if isinstance(value, datetime) else datetime.combine(value, time())


def day(value):
    return value.date() if isinstance(value, datetime) else value


def has_time(value):
    return isinstance(value, datetime)


def is_repair(call, vocabulary):
    return call["job_kind"] is None or call["job_kind"] in vocabulary["repair_kinds"]


def effective_closing(call):
    """The closing time; the opening where the file has no closing column at all; None for an open call."""
    return call["closed"] if call["closing_recorded"] else call["opened"]


def is_completed(call, vocabulary):
    """A repair, closed, whose outcome is none of those on which no work was done."""
    if not is_repair(call, vocabulary) or effective_closing(call) is None:
        return False
    if not call["outcome_recorded"]:
        return True
    return call["outcome"] not in vocabulary["no_work"]


def by_unit(calls):
    """The calls of each unit."""
    units = {}
    for call in calls:
        units.setdefault(call["unit_id"], []).append(call)
    return units.values()


def families(call, vocabulary):
    found = {vocabulary["family_of"].get(symptom) for symptom in call["symptoms"]}
    return found - {None}


def matches(earlier, later, match, vocabulary):
    """Whether a return is for the same trouble; with `any` every repair call of the unit is."""
    if match == "any":
        return True
    return bool(families(earlier, vocabulary) & families(later, vocabulary))


def same_again_understood(calls):
    """The calls again; one that only says "the same again" has the symptoms of the call before."""
    in_order = sorted(calls, key=lambda call: (moment(call["opened"]), call["call_id"]))
    last_heard, understood = {}, {}
    for call in in_order:
        symptoms = call["symptoms"]
        if not symptoms and call["says_same"]:
            symptoms = last_heard.get(call["unit_id"], [])
        elif symptoms:
            last_heard[call["unit_id"]] = symptoms
        understood[call["call_id"]] = call | {"symptoms": symptoms}
    return [understood[call["call_id"]] for call in calls]


def return_trips(calls, vocabulary):
    """For each call opened to finish a part-on-order call of the unit, the id of that call.

    For each part-on-order call: the first later repair call of the unit, opened at or after it and within
    90 days, that is of the same family or whose complaint says that it is a return trip. Where one call
    finishes several, the latest of them.
    """
    found = {}
    for of_unit in by_unit(calls):
        in_order = sorted(of_unit, key=lambda call: (moment(call["opened"]), call["call_id"]))
        for place, waiting in enumerate(in_order):
            if waiting["outcome"] != "part_on_order":
                continue
            for later in in_order[place + 1 :]:
                if not is_repair(later, vocabulary):
                    continue
                if matches(waiting, later, "family", vocabulary) or later["says_return_trip"]:
                    if moment(later["opened"]) <= moment(waiting["opened"]) + timedelta(
                        days=RETURN_TRIP_DAYS
                    ):
                        found[later["call_id"]] = waiting["call_id"]
                    break
    return found


def understood(calls, vocabulary):
    """The calls again, with the symptoms they are about and `finishes`: the call that a return trip finishes.

    A return trip with no symptom of its own ("part is in") is about the trouble of the call that it finishes.
    """
    calls = same_again_understood(calls)
    trips = return_trips(calls, vocabulary)
    symptoms_of = {call["call_id"]: call["symptoms"] for call in calls}
    known = []
    for call in calls:
        finishes = trips.get(call["call_id"])
        symptoms = call["symptoms"] or symptoms_of.get(finishes, [])
        known.append(call | {"finishes": finishes, "symptoms": symptoms})
    return known


def returns_within(closed, opened, window_days):
    """c < opened <= c + W: to the second where both have a time of day, else by the calendar."""
    if has_time(closed) and has_time(opened):
        return closed < opened <= closed + timedelta(days=window_days)
    return 0 < (day(opened) - day(closed)).days <= window_days


def charged_to(later, calls, window_days, match, vocabulary):
    """The one completed call that a return counts against: of those that qualify, the one closed latest."""
    best = None
    for earlier in calls:
        if earlier["call_id"] == later["call_id"] or earlier["unit_id"] != later["unit_id"]:
            continue
        if not is_completed(earlier, vocabulary) or not matches(earlier, later, match, vocabulary):
            continue
        closed = effective_closing(earlier)
        if not returns_within(closed, later["opened"], window_days):
            continue
        rank = (moment(closed), moment(earlier["opened"]), earlier["call_id"])
        if best is None or rank > best[0]:
            best = (rank, earlier["call_id"])
    return best[1] if best else None


def callbacks(calls, window_days, match, vocabulary):
    """Pairs (charged call, return) of call ids."""
    pairs = set()
    for of_unit in by_unit(calls):
        for later in of_unit:
            if not is_repair(later, vocabulary) or later["finishes"]:
                continue
            earlier = charged_to(later, of_unit, window_days, match, vocabulary)
            if earlier is not None:
                pairs.add((earlier, later["call_id"]))
    return pairs


def same_day_pairs(calls, match, vocabulary):
    """Pairs for which the lack of a time decides: same unit and trouble, opened on the day of the closing."""
    pairs = set()
    for of_unit in by_unit(calls):
        for earlier in of_unit:
            if not is_completed(earlier, vocabulary):
                continue
            closed = effective_closing(earlier)
            for later in of_unit:
                if later is earlier or not is_repair(later, vocabulary) or later["finishes"]:
                    continue
                a_time_is_missing = not (has_time(closed) and has_time(later["opened"]))
                same_day = day(closed) == day(later["opened"])
                if a_time_is_missing and same_day and matches(earlier, later, match, vocabulary):
                    pairs.add((earlier["call_id"], later["call_id"]))
    return pairs


def observation_ends(calls, visits, extracted=None):
    """End of observation of each (source, depot); `extracted`: extraction moments of sources, where known."""
    extracted = extracted or {}
    depot_of = {call["call_id"]: call["depot"] for call in calls}
    records = []
    for call in calls:
        for value in (call["opened"], call["closed"]):
            if value is not None:
                records.append((call["source"], call["depot"], moment(value)))
    for visit in visits:
        for value in (visit["arrived"], visit["left"]):
            if value is not None:
                records.append((visit["source"], depot_of.get(visit["call_id"]), moment(value)))
    last = {}
    for source, depot, at in records:
        for place in ((source,), (source, depot)):
            last[place] = max(at, last.get(place, at))
    ends = {}
    for call in calls:
        source, depot = call["source"], call["depot"]
        latest, of_depot = last[source,], last[source, depot]
        taken = extracted.get(source)
        of_source = (
            latest if taken is None else max(taken, latest) if latest.date() == taken.date() else taken
        )
        quiet = depot is not None and of_source - of_depot > timedelta(days=QUIET_DAYS)
        ends[source, depot] = of_depot if quiet else of_source
    return ends


def end_for(call, ends, as_of=None):
    """End of observation for one call; looked at as of a day, the last instant of that day at the latest."""
    end = ends[call["source"], call["depot"]]
    if as_of is None:
        return end
    return min(end, datetime.combine(as_of, time.max))


def is_mature(call, window_days, end):
    return moment(effective_closing(call)) + timedelta(days=window_days) <= end


def is_known(call, as_of):
    """Whether the closing had happened by the day that the fleet is looked at as of."""
    return as_of is None or day(effective_closing(call)) <= as_of


def callback_rate(calls, ends, window_days, match, vocabulary, as_of=None, chosen=None):
    """Counts of the callback rate of the chosen calls (all of them), and those too young to say."""
    came_back = {earlier for earlier, _ in callbacks(calls, window_days, match, vocabulary)}
    numerator = denominator = young = 0
    for call in calls if chosen is None else chosen:
        if not is_completed(call, vocabulary):
            continue
        end = end_for(call, ends, as_of)
        if is_mature(call, window_days, end):
            denominator += 1
            numerator += call["call_id"] in came_back
        elif is_known(call, as_of):
            young += 1
    return {"numerator": numerator, "denominator": denominator, "inside_window": young}


def visits_of(call, visits):
    """Visits of a call, each a list of records: those that overlap in time are one visit with a helper.

    A record without a leaving time covers its arrival only; one without a time of day overlaps nothing.
    """
    own = sorted(
        rows_of(visits, "call_id", call["call_id"]),
        key=lambda visit: (moment(visit["arrived"]), visit["visit_id"]),
    )
    made, arrivals, busy_until = [], [], datetime.min
    for record in own:
        arrived = record["arrived"]
        if has_time(arrived) and (arrived < busy_until or arrived in arrivals):
            made[-1].append(record)
        else:
            made.append([record])
        if has_time(arrived):
            arrivals.append(arrived)
            busy_until = max(busy_until, record["left"] or arrived)
    return made


def first_time_fix(calls, visits, ends, window_days, match, vocabulary, as_of=None, chosen=None):
    """Counts of the first-time fix rate; in a fleet without visits, of "closed without a return"."""
    pairs = callbacks(calls, window_days, match, vocabulary)
    came_back = {earlier for earlier, _ in pairs}
    are_callbacks = {later for _, later in pairs}
    numerator = denominator = young = 0
    for call in calls if chosen is None else chosen:
        count = len(visits_of(call, visits))
        by_phone = visits and count == 0
        if not is_completed(call, vocabulary) or by_phone or call["call_id"] in are_callbacks:
            continue
        end = end_for(call, ends, as_of)
        if is_mature(call, window_days, end):
            denominator += 1
            numerator += count <= 1 and call["call_id"] not in came_back
        elif is_known(call, as_of):
            young += 1
    return {"numerator": numerator, "denominator": denominator, "inside_window": young}


def retired_inside_window(calls, units, ends, window_days, vocabulary):
    """Ids of the judged calls whose unit was retired between closing and the end of the window."""
    retired_on = {unit["unit_id"]: unit["retired"] for unit in units}
    found = set()
    for call in calls:
        retired = retired_on.get(call["unit_id"])
        if retired is None or not is_completed(call, vocabulary):
            continue
        closed = effective_closing(call)
        inside = 0 <= (retired - day(closed)).days <= window_days
        if inside and is_mature(call, window_days, end_for(call, ends)):
            found.add(call["call_id"])
    return found
