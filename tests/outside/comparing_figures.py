"""The headline figures of a fleet, by the plain loops and by the program's facade, under the same names."""

from collections.abc import Iterator
from datetime import timedelta

from statsmodels.stats.proportion import proportion_confint

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from analytics.fleet import Fleet
from analytics.rates import Rate
from tests.outside import plain_episodes
from tests.outside import plain_reference as plain
from tests.outside.random_fleets import BASE, VOCABULARY

AS_OF = tuple((BASE + timedelta(days=days)).date() for days in (20, 41, 75))
ASKED = [(window, match, None) for match in MATCHES for window in WINDOWS_DAYS]
ASKED += [(window, match, as_of) for match in MATCHES for window in (7, 30) for as_of in AS_OF]
GROUPINGS = ("depot", "technician", "month", "symptom")
Said = Iterator[tuple[str, object]]


def _interval(counts: dict[str, int]) -> tuple[float, ...] | None:
    """Rate and Wilson interval, by a library, to ten digits."""
    if not counts["denominator"]:
        return None
    numerator, denominator = counts["numerator"], counts["denominator"]
    limits = proportion_confint(numerator, denominator, method="wilson")
    return tuple(round(float(value), 10) for value in (numerator / denominator, *limits))


def _counts(rate: Rate) -> dict[str, int]:
    return {name: getattr(rate, name) for name in ("numerator", "denominator", "inside_window")}


def _limits(rate: Rate) -> tuple[float, ...] | None:
    if rate.rate is None or rate.low is None or rate.high is None:
        return None
    return tuple(round(value, 10) for value in (rate.rate, rate.low, rate.high))


def by_loops(fleet: dict, ends: dict) -> Said:
    """Headline figures for each window, match and day looked at, and by group."""
    calls, visits = fleet["calls"], fleet["visits"]
    for window, match, as_of in ASKED:
        asked = f"{match}, {window} days, as of {as_of}"
        came_back = plain.callback_rate(calls, ends, window, match, VOCABULARY, as_of)
        fixed = plain.first_time_fix(calls, visits, ends, window, match, VOCABULARY, as_of)
        yield f"callback rate, {asked}", came_back
        yield f"first-time fix, {asked}", fixed
        yield f"interval of the callback rate, {asked}", _interval(came_back)
        yield f"interval of first-time fix, {asked}", _interval(fixed)
        if as_of is None:
            retired = plain.retired_inside_window(calls, fleet["units"], ends, window, VOCABULARY)
            yield f"retired inside the window, {asked}", len(retired)
            yield f"return trips, {asked}", sum(call["finishes"] is not None for call in calls)
    for by in GROUPINGS:
        yield from _groups_by_loops(fleet, ends, by)


def by_program(facade: Fleet) -> Said:
    """The same from the facade."""
    for window, match, as_of in ASKED:
        asked = f"{match}, {window} days, as of {as_of}"
        figures = facade.figures(Filters(window_days=window, match=match, as_of=as_of))
        yield f"callback rate, {asked}", _counts(figures.callback_rate)
        yield f"first-time fix, {asked}", _counts(figures.first_time_fix_rate)
        yield f"interval of the callback rate, {asked}", _limits(figures.callback_rate)
        yield f"interval of first-time fix, {asked}", _limits(figures.first_time_fix_rate)
        if as_of is None:
            yield f"retired inside the window, {asked}", figures.counts["retired_inside_window"]
            yield f"return trips, {asked}", figures.counts["return_trips"]
    for by in GROUPINGS:
        for group in facade.figures(Filters(), by=by).groups:
            if group.callback_rate.denominator:
                yield f"callback rate of {by} {group.group}", _counts(group.callback_rate)
                yield f"first-time fix of {by} {group.group}", _counts(group.first_time_fix_rate)


def _groups_of(call: dict, by: str, visits: list[dict]) -> set:
    """The groups that a call belongs to; None: not recorded."""
    if by == "depot":
        return {call["depot"]}
    if by == "technician":
        return {plain_episodes.whose_repair(call, visits, VOCABULARY)}
    if by == "month":
        closed = plain.effective_closing(call)
        return {closed and plain.day(closed).replace(day=1).isoformat()}
    return set(call["symptoms"]) or {None}


def _groups_by_loops(fleet: dict, ends: dict, by: str) -> Said:
    """Groups with a call judged; a program may leave out the others."""
    calls, visits, members = fleet["calls"], fleet["visits"], {}
    for call in calls:
        for group in _groups_of(call, by, visits):
            members.setdefault(group, []).append(call)
    for group, chosen in members.items():
        came_back = plain.callback_rate(calls, ends, 30, "family", VOCABULARY, None, chosen)
        if came_back["denominator"]:
            fixed = plain.first_time_fix(calls, visits, ends, 30, "family", VOCABULARY, None, chosen)
            yield f"callback rate of {by} {group}", came_back
            yield f"first-time fix of {by} {group}", fixed
