"""Lessons held, whether they worked, and cases to teach with: the facade as far as it is about these."""

import polars as pl

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.decisions import Decision
from analytics.errors import BadQuestion, UnknownRecord
from analytics.filters import Filters
from analytics.fleet_review import FleetReview
from analytics.lessons import KIND, MATTER, Lesson
from analytics.questions.lesson_cases import LessonCases, lesson_cases
from analytics.questions.lesson_outcome import LessonOutcome, outcome


class FleetLessons(FleetReview):
    """Questions and decisions about lessons; see `analytics.fleet.Fleet`."""

    def lesson_causes(self) -> pl.DataFrame:
        """Return the causes a lesson can be about.

        Returns
        -------
        pl.DataFrame
            Columns cause, label, strings (mature strings of returns that turned out to be it, with a first
            thought known), wrong (of these thought to be another cause, or no fault, first); most wrong
            first.
        """
        read = self._read()
        values = {"cutoffs": read.chosen(Filters()).values["cutoffs"]}
        return read.once(("lesson causes",), lambda: queries.frame(read.cursor, "lessons/causes", values))

    def lesson_cases(self, cause: str) -> LessonCases:
        """Pick real cases to teach a cause with, and tell each without a technician or customer.

        Raises
        ------
        BadQuestion
            When the cause is none that a string of returns can turn out to be.
        """
        self._check_cause(cause)
        read = self._read()
        return read.once(("lesson cases", cause), lambda: lesson_cases(read, cause, load_catalogue()))

    def lessons_recorded(self) -> list[Lesson]:
        """Return the lessons that stand recorded, latest first.

        Raises
        ------
        StoreProblem
            When the decisions can not be read.
        """
        latest = self._decisions().history(KIND).unique("key", keep="last", maintain_order=True)
        kept = latest.filter(pl.col("value") != "").sort("key", descending=True)
        return [Lesson.of_row(row) for row in kept.iter_rows(named=True)]

    def lesson_history(self) -> pl.DataFrame:
        """Return who recorded, corrected or took back which lesson, and when, first to last.

        Returns
        -------
        pl.DataFrame
            Columns number, key, value (JSON; "" takes back), note, who, made_at (UTC).
        """
        return self._decisions().history(KIND).drop("matter")

    def lessons(self) -> list[LessonOutcome]:
        """Return the lessons that stand recorded, latest first, with what changed after each.

        Raises
        ------
        StoreProblem
            When the decisions can not be read.
        """
        read, held = self._read(), self.lessons_recorded()
        labels = self.labels("causes")
        return [
            read.once(
                ("lesson", each, tuple((other.key, other.attended) for other in held)),
                lambda each=each: outcome(read, each, held, labels.get(each.cause, each.cause)),  # type: ignore[misc]
            )
            for each in held
        ]

    def record_lesson(self, lesson: Lesson) -> None:
        """Keep a lesson; one of the same day and cause is corrected by it.

        Raises
        ------
        BadQuestion
            When its cause is none that a string of returns can turn out to be.
        UnknownRecord
            When a technician is not in the records.
        StoreProblem
            When it can not be written.
        """
        self._check_cause(lesson.cause)
        known = set(self.choices()["technicians"]["value"])
        if unknown := [each for each in lesson.attended if each not in known]:
            raise UnknownRecord(f"There is no technician '{unknown[0][:60]}' in the data as loaded.")
        self._decisions().add([lesson.decision()])

    def take_back_lesson(self, key: str, who: str = "") -> None:
        """Take a lesson back that was recorded; the record that it was, and by whom, stays.

        Raises
        ------
        UnknownRecord
            When no such lesson stands recorded.
        StoreProblem
            When it can not be written.
        """
        if key not in {each.key for each in self.lessons_recorded()}:
            raise UnknownRecord(
                f"No lesson '{key[:60]}' is recorded. A lesson is named like 2026-03-01:CAUSE, as "
                "`service-calls lessons` prints it."
            )
        self._decisions().add([Decision(MATTER, KIND, key, "", "", who)])

    def _check_cause(self, cause: str) -> None:
        if cause not in (known := self.lesson_causes()["cause"].to_list()):
            raise BadQuestion(
                f"No lesson can be about '{cause[:60]}'. Choose one of {', '.join(sorted(known))}."
            )
