"""The closed list of subsets: which calls stand behind which number, and the words for them."""

from analytics.errors import BadQuestion

SUBSETS: dict[str, str] = {
    "all": "all calls",
    "completed": "completed calls",
    "judged": "completed calls whose window has fully passed",
    "came_back": "completed calls that came back",
    "held": "completed calls that did not come back",
    "callbacks": "calls that are callbacks",
    "own_judged": "completed calls whose window has fully passed, without those that are callbacks",
    "own_held": "completed calls that are no callbacks and did not come back",
    "inside_window": "completed calls too young to say",
    "first_time_judged": "calls that first-time fix is judged on",
    "first_time_fix": "calls fixed the first time",
    "not_first_time_fix": "calls not fixed the first time",
    "spoiled_came_back": "not fixed the first time: came back",
    "spoiled_part": "not fixed the first time: second trip for a part",
    "spoiled_diagnosis": "not fixed the first time: wrong first diagnosis",
    "spoiled_no_access": "not fixed the first time: nobody home",
    "spoiled_other": "not fixed the first time: another visit, reason not recorded",
    "silent": "silent: nobody rang again within the window, for any complaint",
    "silent_works": "silent, and asked: works",
    "silent_partly": "silent, and asked: works partly",
    "silent_no": "silent, and asked: does not work",
    "silent_not_reached": "silent, and asked: not reached",
    "flagged_both": "callbacks by the office's mark and by ours",
    "fixed_by_phone": "completed without a visit",
    "open": "open calls",
    "return_trips": "return trips, opened to finish a call that waited for a part",
    "second_trips": "completed calls that took a second trip for a part",
    "same_day": "completed calls with another call on the day of closing, where times are not recorded",
    "install_returns": "installs followed by a repair call within the window",
    "retired_inside_window": "completed calls whose unit was retired inside the window",
    "symptom_not_recognised": "calls whose complaint was not recognised",
    "cause_not_recognised": "completed calls whose cause is blank or not recognised",
    "outcome_not_recognised": "completed calls whose outcome was not recognised",
    "recorded:cause": "completed calls with the cause recorded",
    "recorded:outcome": "completed calls with the outcome recorded",
    "recorded:visit": "completed calls with a visit recorded",
    "recorded:check": "completed calls with a check recorded",
    "recorded:reading": "completed calls with a reading recorded",
    "recorded:filter_date": "completed calls with a filter date recorded",
    "filter_disagrees": "calls where the filter date told and the one recorded disagree",
    "closed_by_paperwork": "calls closed a day or more after the last visit",
    "returned_before_closing": "calls with a return between the last visit and closing",
    "visits_after_closing": "calls with a visit after their closing",
    "flagged_by_office_only": "callbacks by the office's mark, not by ours",
    "flagged_by_us_only": "callbacks by ours, not by the office's mark",
    "leak_after_our_work": "calls with a leak reported within the window after a water part was fitted",
    "check_made": "calls on which a check was made, and 30 days are up",
    "check_found": "calls on which a check found the fault, and which stayed fixed",
    "check_ruled_out": "calls on which a check found no fault, and the cause was another",
    "check_missed": "calls on which a check found no fault, although it reveals what the cause was",
    "check_not_recorded": "calls that came back without a check that could have shown the cause",
    "check_back": "calls that came back with a check recorded and the cause known",
    "check_left_out": "calls that came back, of technicians who seldom record checks",
    "checks_settled": "calls with a check recorded whose 30 days are up",
    "checks_too_soon": "calls with a check recorded that are too young to say",
    "valve_fitted": "completed calls on which a valve was fitted",
    "valve_without_evidence": "valve fitted without evidence recorded",
    "valve_without_evidence_judged": "valve fitted without evidence recorded, window passed",
    "valve_without_evidence_came_back": "valve fitted without evidence recorded, came back",
    "valve_with_evidence_judged": "valve fitted with evidence recorded, window passed",
    "valve_with_evidence_came_back": "valve fitted with evidence recorded, came back",
    "proved": "completed calls with a proof of the repair",
    "proved_judged": "proof of the repair recorded, window passed",
    "proved_came_back": "proof of the repair recorded, came back",
    "proved_works": "proof of the repair recorded, and asked: works",
    "checked": "completed calls with checks recorded but no proof of the repair",
    "checked_judged": "checks recorded but no proof, window passed",
    "checked_came_back": "checks recorded but no proof, came back",
    "checked_works": "checks recorded but no proof, and asked: works",
    "unchecked": "completed calls with no check recorded",
    "unchecked_judged": "no check recorded, window passed",
    "unchecked_came_back": "no check recorded, came back",
    "unchecked_works": "no check recorded, and asked: works",
    "thought_known": "first thought and what it turned out to be are known",
    "thought_right": "what was thought first was right",
    "thought_deeper": "what was thought first was right, but something lay behind it",
    "thought_different": "first taken for something else",
    "thought_none_found": "no fault found first, and later a cause",
    "thought_unknown": "something was thought first, and what it was never became known",
    "thought_too_soon": "first calls of strings of returns that are too young to say",
    "part_not_cause": "a part was fitted that was not the cause",
    "habit_calls": "calls to which the habit applies",
    "habit_missing": "the step is not recorded",
    "habit_missing_different": "the step is not recorded, and it was first taken for something else",
    "habit_missing_came_back": "the step is not recorded, and it came back",
    "habit_recorded": "the step is recorded",
    "habit_recorded_different": "the step is recorded, and it was first taken for something else",
    "habit_recorded_came_back": "the step is recorded, and it came back",
    "habit_left_out": "calls to which the habit applies, of technicians who seldom record checks",
    "filter_failures": "failures while the age of the filter was known",
    "left_out:not_a_repair": "left out: not a repair",
    "left_out:open": "left out: still open",
    "left_out:cancelled": "left out: cancelled",
    "left_out:no_access": "left out: no access",
    "left_out:referred_on": "left out: passed on",
    "left_out:estimate_declined": "left out: estimate declined",
    "left_out:part_on_order": "left out: part on order",
    "left_out:duplicate": "left out: duplicate",
    "left_out:no_work_done": "left out: no work done, for another reason",
}

OF_A_CHECK = ("check_made", "check_found", "check_ruled_out", "check_missed", "check_not_recorded")
"""Subsets that can be narrowed to one check."""
OF_A_TURN = (
    "thought_known", "thought_right", "thought_deeper", "thought_different", "thought_none_found",
    "thought_unknown",
)  # fmt: skip
"""Subsets that can be narrowed to one first thought, one final cause, or both."""
OF_A_HABIT = (
    "habit_calls", "habit_missing", "habit_missing_different", "habit_missing_came_back", "habit_recorded",
    "habit_recorded_different", "habit_recorded_came_back", "habit_left_out",
)  # fmt: skip
"""Subsets that are about one habit; without it, about any."""
OF_A_PART = ("part_not_cause",)
"""Subsets that can be narrowed to one part that was not the cause."""


def checked_subset(name: str) -> str:
    """Return the name of a subset, or say which there are.

    Raises
    ------
    BadQuestion
        When there is no such subset.
    """
    if name not in SUBSETS:
        raise BadQuestion(f"There is no subset '{name}'. Choose one of {', '.join(SUBSETS)}.")
    return name
