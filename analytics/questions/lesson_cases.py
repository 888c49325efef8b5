"""Cases to teach one cause with: picked, told, and what tells each from what it was taken for."""

from dataclasses import asdict, dataclass
from typing import Any

import polars as pl

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.filters import Filters
from analytics.lesson_case_rules import case_rules
from analytics.questions.labelling import labels
from analytics.questions.lesson_case import Apart, Case, case, sign_in_words
from analytics.questions.lesson_picks import Pick, picks
from analytics.questions.reading import Reading


@dataclass(frozen=True)
class LessonCases:
    """Cases for a lesson on one cause.

    Parameters
    ----------
    cause, label : str
    strings : int
        Strings of returns of the cause that were looked through.
    months : int
        From how far back.
    cases : list of Case
        In the order of teaching.
    signs : list of dict
        Answers that point to the cause: label, words, strings, of, others, of_others, ratio.
    enough : bool
        Whether there are as many as a lesson wants.
    """

    cause: str
    label: str
    strings: int
    months: int
    cases: list[Case]
    signs: list[dict[str, Any]]
    enough: bool

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def lesson_cases(read: Reading, cause: str, catalogue: Catalogue) -> LessonCases:
    """Answer `Fleet.lesson_cases`."""
    rules = case_rules()
    values = {"cutoffs": read.chosen(Filters()).values["cutoffs"], "months": rules.months}
    strings = read.once(
        ("lesson strings",), lambda: queries.frame(read.cursor, "lessons/strings", values)
    )  # of all causes: some 30 MB for 1,000,000 calls
    found = picks(strings, cause, rules)
    usual = _usual_other(read, cause)

    def tell(reading: Reading, some: list[Pick]) -> list[Case]:
        return [case(reading.cursor, each, _apart(each, cause, usual, catalogue), catalogue) for each in some]

    half = len(found.picks) // 2
    rest = read.meanwhile(lambda beside: tell(beside, found.picks[half:]))
    told = tell(read, found.picks[:half]) + rest()
    signs = [sign_in_words(read.cursor, each) for each in found.signs]
    label = labels(read.cursor, "causes").get(cause, cause)
    return LessonCases(
        cause,
        label,
        found.strings,
        rules.months,
        told,
        [each for each in signs if each],
        len(told) >= rules.least,
    )


def _usual_other(read: Reading, cause: str) -> str | None:
    """Return the cause it is most often taken for, or None where it never was."""
    rows = queries.frame(read.cursor, "lessons/taken_for", {"cause": cause})
    return None if rows.is_empty() else str(rows["first_thought"][0])


def _apart(pick: Pick, cause: str, usual: str | None, catalogue: Catalogue) -> Apart | None:
    """Find the check that tells the case's cause from what it was taken for, by the catalogue's shares."""
    from analytics.causes.evidence import COUNTS, Evidence, facts_of
    from analytics.causes.telling_apart import tells_apart

    taken_for = {"missed": pick.first_thought, "look_alike": cause, "typical": usual}[pick.kind]
    other = taken_for if taken_for != pick.final_cause else usual
    two = [pick.final_cause, other or ""]
    if not set(two) <= {code for code, each in catalogue.causes.items() if each.can_be_final}:
        return None
    facts = facts_of(Evidence(pl.DataFrame(schema=COUNTS), 0.0), catalogue, two)
    found = tells_apart(facts, [0.5, 0.5])
    if found is None:
        return None
    finds = {found.likeliest: found.finds_likeliest, found.next: found.finds_next}
    return Apart(
        catalogue.causes[two[1]].label,
        catalogue.checks[found.check].label,
        found.minutes,
        finds[two[0]],
        finds[two[1]],
    )
