"""Filter age at a call, and when its trouble began, as plain arithmetic on dates.

A unit is a dict with unit_id, installed (date or None), filter_kind. An answer is what the caller said
about the last change: a date, "never", or None. See plain_reference for calls.
"""

from datetime import timedelta

from tests.outside.plain_reference import day, moment

MONTH_DAYS = 30.4375
NO_FILTER_KINDS = ("bypass_or_none", "reverse_osmosis")
FILTER_KINDS = ("in_unit", "in_line", "whole_house")
BANDS = (
    ("0-3", 0, 3),
    ("3-6", 3, 6),
    ("6-9", 6, 9),
    ("9-12", 9, 12),
    ("12-18", 12, 18),
    ("18+", 18, float("inf")),
)


def age_on(when, changes, answer, unit, filter_kind):
    """Calendar days since the last change before `when`, "not_applicable", or None where it is unknown.

    Parameters
    ----------
    when : date
    changes : list of date
        Changes of the unit, and filters among the parts fitted.
    answer : date, "never" or None
    unit : dict or None
    filter_kind : str or None
        What the unit has, or what the caller says it has.
    """
    if filter_kind in NO_FILTER_KINDS:
        return "not_applicable"
    known = [changed for changed in changes if changed < when]
    if answer not in (None, "never") and answer <= when:
        known.append(answer)
    if known:
        return (when - max(known)).days
    if answer == "never" and filter_kind in FILTER_KINDS and unit["installed"] and unit["installed"] <= when:
        return (when - unit["installed"]).days
    return None


def changes_of(unit_id, fleet):
    """Days on which the filter of a unit was changed: filter changes, and filters among the parts fitted."""
    days = [change["changed_on"] for change in fleet["changes"] if change["unit_id"] == unit_id]
    unit_of = {call["call_id"]: call["unit_id"] for call in fleet["calls"]}
    visits = {visit["visit_id"]: visit for visit in fleet["visits"]}
    for part in fleet["parts"]:
        visit = visits[part["visit_id"]]
        if part["part"] == "water_filter" and unit_of[visit["call_id"]] == unit_id:
            days.append(day(visit["arrived"]))
    return days


def age_at_call(call, changes, answer, unit, filter_kind):
    return age_on(day(call["opened"]), changes, answer, unit, filter_kind)


def age_when_it_began(call, duration_days, changes, answer, unit, filter_kind):
    """The same on the day the trouble began; unknown where the caller does not say how long it has lasted."""
    if duration_days is None:
        return "not_applicable" if filter_kind in NO_FILTER_KINDS else None
    began = (moment(call["opened"]) - timedelta(days=duration_days)).date()
    return age_on(began, changes, answer, unit, filter_kind)


def band(age):
    """The band of an age in days; left-closed, a month is 30.4375 days."""
    if age is None:
        return "unknown"
    if age == "not_applicable":
        return age
    for name, low, high in BANDS:
        if low <= age / MONTH_DAYS < high:
            return name
    raise ValueError(f"An age of {age} days is before the change.")
