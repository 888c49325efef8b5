"""The shapes of answers: what the facade hands to pages, the command line and notebooks."""

from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

import polars as pl

from analytics.rates import Rate


@dataclass(frozen=True)
class Warning:
    """Something in the records that bends a figure, said beside it.

    Parameters
    ----------
    code : str
        One of "dates_without_times", "closed_by_paperwork", "visits_after_closing", "office_flag_differs",
        "recording_differs", "leak_after_our_work".
    sentence : str
        What it is, with its numbers, in one or two sentences.
    numbers : dict
        The numbers in the sentence, by name.
    subset : str or None
        The subset of `Fleet.calls` that holds the calls behind it; None where there is no such list.
    """

    code: str
    sentence: str
    numbers: dict[str, Any]
    subset: str | None = None


@dataclass(frozen=True)
class ObservationEnd:
    """Until when a source, or a depot of it that fell silent earlier, was watched.

    Parameters
    ----------
    source, depot : str
        Depot is "" where the end holds for the whole source.
    ends_at : datetime
        End of observation.
    ends_from : str
        "extraction date", "latest timestamp" or "own last record".
    """

    source: str
    depot: str
    ends_at: datetime
    ends_from: str


@dataclass(frozen=True)
class GroupFigures:
    """The figures of one group, such as one depot; same meaning as in `Figures`.

    Parameters
    ----------
    group : str or None
        Code, id, or first day of the month in ISO form; None: not recorded.
    label : str
        The words to show for it.
    callback_rate, callback_rate_any, first_time_fix_rate : Rate
        As in `Figures`.
    """

    group: str | None
    label: str
    callback_rate: Rate
    callback_rate_any: Rate
    first_time_fix_rate: Rate


@dataclass(frozen=True)
class Figures:
    """The headline figures of the calls that the filters choose.

    Parameters
    ----------
    callback_rate : Rate
        Completed calls that came back, by the window and match asked for.
    callback_rate_family, callback_rate_any : Rate
        The same by same family, and by any symptom: one of them equals `callback_rate`.
    first_time_fix_rate : Rate
        Named "closed_without_return" where the fleet has no visits; then it is no first-time fix and is
        not to be compared with one.
    first_time_fix_let_in : Rate
        First-time fix among calls without a visit at which nobody was home.
    counts : dict of str to int
        calls, completed, open, return_trips, install_returns, installs_judged, same_day_pairs,
        fixed_by_phone, symptom_not_recognised, outcome_not_recognised, retired_inside_window, ...
    grouping : str or None
        One of `GROUPINGS`, or None.
    groups : list of GroupFigures
        Largest denominator first; months in order of time. Empty without grouping.
    ends : list of ObservationEnd
        Ends of observation behind the figures.
    warnings : list of Warning
        What in the records bends these figures.
    notes : list of str
        What the records lack and what stands in for it, in sentences.
    """

    callback_rate: Rate
    callback_rate_family: Rate
    callback_rate_any: Rate
    first_time_fix_rate: Rate
    first_time_fix_let_in: Rate
    counts: dict[str, int] = field(default_factory=dict)
    grouping: str | None = None
    groups: list[GroupFigures] = field(default_factory=list)
    ends: list[ObservationEnd] = field(default_factory=list)
    warnings: list[Warning] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def to_dict(self) -> dict[str, Any]:
        """Return the figures as plain values for JSON; dates become ISO text."""
        return _plain(asdict(self))


@dataclass(frozen=True)
class CallStory:
    """All that is known of one call.

    Parameters
    ----------
    call_id, unit_id : str
        The call and its unit.
    facts : dict
        What the figures took the call for: opened_at, closed_at, standing, symptoms, cause, technician,
        depot, filter_age_days, episode_id and so on.
    said : pl.DataFrame
        What the customer told us: columns answer, label, written, code, code_label.
    timeline : pl.DataFrame
        Columns at, has_time, kind (opened, visit, check, part, closed, filter_change, follow_up, return,
        earlier_call), what, detail, technician, call_id; in order of time.
    visits, checks, parts, follow_ups : pl.DataFrame
        Rows of this call.
    earlier, later : pl.DataFrame
        Other calls of the unit, opened before and after this one; columns as in `Fleet.calls`.
    came_back_as : pl.DataFrame
        Returns counted against this call: return_call_id, opened_at, days_between, match, windows_days.
    returns_for : pl.DataFrame
        Calls that this one is counted against as a return, same columns with charged_call_id.
    episode : dict or None
        episode_id, calls, final_cause, confirmed, course (same, went deeper, different), mature.
    """

    call_id: str
    unit_id: str
    facts: dict[str, Any]
    said: pl.DataFrame
    timeline: pl.DataFrame
    visits: pl.DataFrame
    checks: pl.DataFrame
    parts: pl.DataFrame
    follow_ups: pl.DataFrame
    earlier: pl.DataFrame
    later: pl.DataFrame
    came_back_as: pl.DataFrame
    returns_for: pl.DataFrame
    episode: dict[str, Any] | None


@dataclass(frozen=True)
class UnitStory:
    """All that is known of one unit.

    Parameters
    ----------
    unit_id : str
        The unit.
    facts : dict
        installed_on, product_family, filter_kind, water_supply, shutoff_valve, retired_on and so on.
    timeline : pl.DataFrame
        As in `CallStory`, over all its calls, with kinds installed and retired.
    calls : pl.DataFrame
        Its calls, latest first; columns as in `Fleet.calls`.
    filter_changes : pl.DataFrame
        Columns changed_on, from (filter change, part fitted).
    episodes : pl.DataFrame
        Columns episode_id, calls, opened_at, last_closed_at, final_cause, confirmed, course.
    """

    unit_id: str
    facts: dict[str, Any]
    timeline: pl.DataFrame
    calls: pl.DataFrame
    filter_changes: pl.DataFrame
    episodes: pl.DataFrame


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
