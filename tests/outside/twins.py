"""Statements of the program broken on purpose, each in one way; the comparison must catch every one."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from analytics import queries


@dataclass(frozen=True)
class Twin:
    """One way to be wrong.

    Parameters
    ----------
    name : str
        What is wrong.
    statement : str
        Name of the statement below sql/.
    changes : tuple of (str, str)
        Pieces of its text, and what stands there instead; spaces and line breaks count alike.
    """

    name: str
    statement: str
    changes: tuple[tuple[str, str], ...]

    def break_up(self, text: str) -> str:
        """The statement, broken."""
        for sound, broken in self.changes:
            pattern = r"\s+".join(map(re.escape, sound.split()))
            text, times = re.subn(pattern, lambda _, broken=broken: broken, text)
            if not times:
                raise AssertionError(f"sql/{self.statement}.sql no longer says {sound!r}: mend the twin.")
        return text


LOOKED_UP = "asof join (from latest where closed_has_time)"
ALL_OF_THEM = "inner join (from latest where closed_has_time)"
TWINS = (
    Twin("30 days later is too late", "marts/callbacks", (("(gap_days <= 30)", "(gap_days < 30)"),)),
    Twin("31 days later still counts", "marts/callbacks", (("(gap_days <= 30)", "(gap_days <= 31)"),)),
    Twin(
        "the same minute counts",
        "marts/callbacks",
        (("openings.opened_at > latest.after_at", "openings.opened_at >= latest.after_at"),),
    ),
    Twin(
        "days are compared as midnights",
        "marts/callbacks",
        (("closed_has_time and opened_has_time", "true"),),
    ),
    Twin(
        "every earlier call is charged",
        "marts/callbacks",
        ((LOOKED_UP, ALL_OF_THEM), ("having count(*) > 1", "having count(*) > 1000")),
    ),
    Twin(
        "the call closed first is charged",
        "marts/callbacks",
        ((LOOKED_UP, ALL_OF_THEM), ("arg_max(candidates.charged_row", "arg_min(candidates.charged_row")),
    ),
    Twin(
        "of calls closed at once the one opened first is charged",
        "marts/callbacks",
        (
            ("arg_max(call_row, (opened_at, call_id))", "arg_min(call_row, (opened_at, call_id))"),
            (
                "arg_max(closings.call_row, (closings.opened_at",
                "arg_min(closings.call_row, (closings.opened_at",
            ),
        ),
    ),
    Twin(
        "return trips are callbacks",
        "marts/callbacks",
        (("anti join return_trips on return_trips.call_row = calls.call_row", ""),),
    ),
    Twin("other kinds of job come back", "marts/callbacks", (("where calls.is_repair", ""),)),
    Twin(
        "no maturity",
        "schema/selection",
        (("completed and window_passed as judged", "completed as judged"),),
    ),
    Twin("work was always done", "marts/coded_calls", (("coalesce(outcomes.work_done, true)", "true"),)),
    Twin(
        "a helper is another visit",
        "marts/visits",
        (("arrived_at < others_left_at or arrived_at = others_arrived_at", "false"),),
    ),
    Twin(
        "a silent depot is still watched",
        "marts/observation_ends",
        (("interval 14 day", "interval 14 year"),),
    ),
    Twin(
        "a filter changed on the day of the call is new",
        "marts/filter_ages",
        (("> changes.changed_on", ">= changes.changed_on"),),
    ),
    Twin("three months are 92 days", "marts/filter_ages", (("age_days < 3 * 30.4375", "age_days <= 92"),)),
    Twin(
        "no fault found is a cause",
        "marts/episodes",
        (("and causes.can_be_final", ""), ("and earlier.can_be_final", "")),
    ),
)


def broken(twin: Twin) -> Callable[[str], str]:
    """`queries.statement` with one statement broken."""
    sound = queries.statement
    return lambda name: twin.break_up(sound(name)) if name == twin.statement else sound(name)
