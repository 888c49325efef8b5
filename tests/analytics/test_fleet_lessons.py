"""Lessons by hand: recording, correcting, taking back; which months are compared and what counts in them."""

from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadQuestion, UnknownRecord
from analytics.lessons import Lesson, read_day
from analytics.questions.lesson_outcome import months_later, periods
from analytics.store import Store
from tests.analytics.small_fleet import SmallFleet

DAY = date(2026, 1, 15)
CAUSE = "tube_frozen"


class Months(SmallFleet):
    """Ten technicians, of whom T0 to T4 attend on 15 January 2026; each call names what was thought first."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self._calls = 0

    def string(self, opened: str, technician: str, first: str = CAUSE, cause: str = CAUSE) -> None:
        self._calls += 1
        name = f"C{self._calls}"
        self.call(
            name,
            f"U{self._calls}",
            opened=f"{opened} 09:00",
            first_diagnosis=first,
            root_cause=cause,
            technician_id=technician,
        )


def months(folder: Path) -> Months:
    """Before: of 5 calls each 3 are wrong of those who attend, 1 of the others; after: 1 and 1.

    In the three months before the lesson everybody who attends gets everything wrong.
    """
    fleet = Months(folder)
    for number in range(10):
        name, attends = f"T{number}", number < 5
        for at in range(5):
            fleet.string(f"2025-0{at + 2}-10", name, "module_failed" if at < (3 if attends else 1) else CAUSE)
            fleet.string(f"2026-0{at + 2}-10", name, "module_failed" if at < 1 else CAUSE)
        if attends:
            fleet.string("2025-12-10", name, "module_failed")
    fleet.ends("2026-12-31 17:00")
    return fleet


def attended(*names: str, day: date = DAY, cause: str = CAUSE) -> Lesson:
    return Lesson(day, cause, names or tuple(f"T{n}" for n in range(5)), "note", "Ann")


def test_difference_of_differences_by_hand(tmp_path: Path) -> None:
    fleet = months(tmp_path).build().fleet
    fleet.record_lesson(attended())
    (found,) = fleet.lessons()
    wrong = found.wrong_first
    assert (wrong.attended_before.numerator, wrong.attended_before.denominator) == (15, 25)
    assert (wrong.attended_after.numerator, wrong.attended_after.denominator) == (5, 25)
    assert (wrong.others_before.numerator, wrong.others_after.numerator) == (5, 5)
    assert wrong.change == pytest.approx((5 - 15) / 25 - 0)
    assert wrong.verdict == "better"
    assert found.came_back.attended_before.numerator == 0
    assert found.to_dict()["wrong_first"]["attended"] == 5


def test_months_of_choosing_count_on_neither_side(tmp_path: Path) -> None:
    fleet = months(tmp_path)
    fleet.string("2025-10-14", "T0", "module_failed")  # the last day before them
    fleet.string("2025-10-15", "T0", "module_failed")
    fleet.string("2026-01-15", "T0", "module_failed")  # the day of the lesson
    fleet.string("2026-01-16", "T0", "module_failed")
    fleet.string("2024-10-15", "T0", "module_failed")
    fleet.string("2024-10-14", "T0", "module_failed")  # more than twelve months before
    asked = fleet.build().fleet
    asked.record_lesson(attended())
    wrong = asked.lessons()[0].wrong_first
    assert (wrong.attended_before.denominator, wrong.attended_after.denominator) == (27, 26)


def test_latest_calls_are_left_out_until_they_can_be_judged(tmp_path: Path) -> None:
    fleet = months(tmp_path)
    fleet.string("2026-10-02", "T0")
    fleet.string("2026-10-03", "T0")
    asked = fleet.build().fleet
    asked.record_lesson(attended())
    found = asked.lessons()[0]
    assert found.periods.after_until == date(2026, 10, 3)
    assert found.wrong_first.attended_after.denominator == 26


def test_what_went_deeper_is_not_wrong_and_no_fault_found_is(tmp_path: Path) -> None:
    fleet = months(tmp_path)
    fleet.call(
        "D1", "D1", "2025-03-01 09:00", first_diagnosis=CAUSE, root_cause="valve_seeping", technician_id="T0"
    )
    fleet.call(
        "D2",
        "D2",
        "2025-03-01 09:00",
        first_diagnosis="no_fault_found",
        root_cause="valve_seeping",
        technician_id="T0",
    )
    asked = fleet.build().fleet
    rows = asked.lesson_causes().filter(cause="valve_seeping").row(0, named=True)
    assert (rows["strings"], rows["wrong"]) == (2, 1)
    assert "no_fault_found" not in asked.lesson_causes()["cause"].to_list()


def test_returns_of_the_cause_are_counted_beside(tmp_path: Path) -> None:
    fleet = months(tmp_path)
    fleet.call("R1", "U1", "2025-02-20 09:00", root_cause=CAUSE, technician_id="T9")
    asked = fleet.build().fleet
    asked.record_lesson(attended())
    back = asked.lessons()[0].came_back
    assert (back.attended_before.numerator, back.attended_before.denominator) == (1, 25)


def test_who_attended_another_lesson_on_it_is_in_neither_group(tmp_path: Path) -> None:
    asked = months(tmp_path).build().fleet
    asked.record_lesson(attended())
    asked.record_lesson(attended("T4", "T9", day=date(2026, 5, 1)))
    asked.record_lesson(attended("T8", day=date(2026, 5, 2), cause="module_failed"))
    first = asked.lessons()[-1]
    assert (first.left_out, first.wrong_first.verdict) == (2, "better")
    assert (first.wrong_first.attended, first.wrong_first.others) == (4, 4)


def test_too_soon_and_too_few(tmp_path: Path) -> None:
    asked = months(tmp_path).build().fleet
    asked.record_lesson(attended(day=date(2026, 12, 1)))
    asked.record_lesson(attended("T0", "T1"))
    late, few = asked.lessons()
    assert not late.periods.began
    assert few.wrong_first.verdict == "too_few"


def test_recorded_corrected_and_taken_back_and_all_of_it_stays_on_record(tmp_path: Path) -> None:
    asked = months(tmp_path).build().fleet
    assert asked.lessons() == []
    asked.record_lesson(attended("T0"))
    asked.record_lesson(attended("T1", "T1", " T0 "))
    (kept,) = asked.lessons_recorded()
    assert (kept.attended, kept.note, kept.who) == (("T0", "T1"), "note", "Ann")
    assert kept.recorded_at is not None
    asked.take_back_lesson(kept.key, "Bo")
    assert asked.lessons_recorded() == []
    history = asked.lesson_history()
    assert history["who"].to_list() == ["Ann", "Ann", "Bo"]
    assert [bool(each) for each in history["value"]] == [True, True, False]
    with pytest.raises(UnknownRecord, match="No lesson"):
        asked.take_back_lesson(kept.key)


@pytest.mark.parametrize(
    ("lesson", "problem"),
    [
        (attended(cause="no_fault_found"), BadQuestion),
        (attended(cause="nothing"), BadQuestion),
        (attended("T0", "stranger"), UnknownRecord),
    ],
)
def test_what_is_not_there_is_refused(tmp_path: Path, lesson: Lesson, problem: type[Exception]) -> None:
    asked = months(tmp_path).build().fleet
    with pytest.raises(problem):
        asked.record_lesson(lesson)
    assert asked.lessons_recorded() == []


def test_a_lesson_that_is_none_is_refused() -> None:
    for made in (lambda: Lesson(DAY, CAUSE, (" ",)), lambda: Lesson(DAY, "", ("T0",)), lambda: read_day("x")):
        with pytest.raises(BadQuestion):
            made()
    with pytest.raises(BadQuestion, match="at most 2,000"):
        Lesson(DAY, CAUSE, tuple(f"technician {n}" for n in range(300))).decision()


def test_lessons_survive_loads_going_back_and_pruning(tmp_path: Path) -> None:
    asked = months(tmp_path).build().fleet
    asked.record_lesson(attended())
    store = Store(tmp_path)
    for _ in range(5):
        with store.writing():
            pass
    store.go_back()
    assert [each.key for each in asked.lessons_recorded()] == [f"2026-01-15:{CAUSE}"]


def test_periods_meet_and_never_overlap() -> None:
    for day in (date(2026, 1, 31), date(2024, 2, 29), date(2025, 12, 1)):
        found = periods(day, date(2030, 1, 1))
        assert months_later(found.before_until, 3) <= day < found.after_from
        assert found.before_from < found.before_until
        assert 364 <= (found.after_until - found.after_from).days <= 366
    assert not periods(DAY, DAY).began
    assert periods(DAY, date(2026, 6, 1)).after_until == date(2026, 3, 4), "90 days before, and the day after"
