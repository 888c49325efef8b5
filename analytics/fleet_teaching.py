"""What to teach next, and to whom: the facade as far as the trainer asks."""

from dataclasses import replace

import polars as pl

from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.fleet_wrong_turns import FleetWrongTurns
from analytics.questions import new_technicians, teaching, teaching_habits, teaching_people
from analytics.questions.new_technicians import NewTechnicians
from analytics.questions.reading import Reading
from analytics.questions.skill import WHATS, Skill, Trouble, skill
from analytics.questions.teaching import Teaching
from analytics.questions.teaching_people import Standing
from analytics.teaching_assumptions import TeachingAssumptions, TeachingRules


class FleetTeaching(FleetWrongTurns):
    """Questions of the trainer; see `analytics.fleet.Fleet`."""

    def teaching(self, filters: Filters, assumed: TeachingAssumptions | None = None) -> Teaching:
        """Which causes a lesson can help, and the lessons by hours saved per hour taught.

        Parameters
        ----------
        filters : Filters
            For depots, first and last day of closing, and date; its other choices are not applied: a
            technician is compared with everybody, and returns count as in strings of returns.
        assumed : TeachingAssumptions, optional
            What a lesson costs and brings; None: as they come with the program.
        """
        read, asked = self._read(), _asked(filters)
        found = self._skill(read, asked)
        return teaching.teaching(
            found,
            lambda one: self._standing(read, asked, one),
            self.labels("causes"),
            assumed or TeachingAssumptions.usual(),
            TeachingRules.usual(),
        )

    def teaching_people(
        self, filters: Filters, what: str, cause: str, assumed: TeachingAssumptions | None = None
    ) -> pl.DataFrame:
        """Return technicians by what they would gain from a lesson, pulled towards average as calls are few.

        For a conversation, not a verdict; not fit for pay or discipline.

        Parameters
        ----------
        filters : Filters
            As for `teaching`.
        what : str
            "thought" or "held", as in `Teaching.causes`.
        cause : str
            Code of the cause.
        assumed : TeachingAssumptions, optional

        Returns
        -------
        pl.DataFrame
            Columns technician, calls, happened, expected, shrunk, low, high (cases over those expected),
            chance_below, hours, standing ("below", "above" or ""), at_work.

        Raises
        ------
        BadQuestion
            When nothing can be said of that cause.
        """
        read, asked = self._read(), _asked(filters)
        found = self._skill(read, asked)
        one = next((each for each in found.troubles if (each.what, each.cause) == (what, cause)), None)
        if one is None or one.spread is None:
            known = sorted({each.cause for each in found.troubles if each.what == what and each.spread})
            raise BadQuestion(
                f"Nothing can be said of technicians with '{what}' of '{cause}'. Choose from "
                f"{', '.join(WHATS)}, and a cause with enough calls: {', '.join(known) or 'there is none'}."
            )
        stand = self._standing(read, asked, one)
        return teaching_people.people(found, one, stand, assumed or TeachingAssumptions.usual())

    def new_technicians(self, filters: Filters) -> NewTechnicians:
        """How technicians come on: returns and first-time fix by months since they started.

        Parameters
        ----------
        filters : Filters
            For window, match and date, and for depots and days of closing; its other choices are not applied.
        """
        read = self._read()
        asked = replace(_asked(filters), window_days=filters.window_days, match=filters.match)
        return read.once(
            ("new_technicians", asked),
            lambda: new_technicians.new_technicians(read.cursor, read.chosen(asked)),
        )

    def teaching_habits(self, filters: Filters) -> pl.DataFrame:
        """How far technicians differ in the steps that they record (see `habits`), beyond chance and mix.

        Parameters
        ----------
        filters : Filters
            As for `teaching`.

        Returns
        -------
        pl.DataFrame
            One row a habit: habit, label, calls, happened (not recorded), technicians, left_out (calls of
            technicians who record checks on fewer than half of their visits), rate, low, high, spread,
            spread_low, spread_high, p, p_adjusted, usual, best, avoided, avoided_low, avoided_high (times a
            year), standing ("differ", "alike" or "few").
        """
        read, asked = self._read(), _asked(filters)
        return read.once(
            ("teaching_habits", asked),
            lambda: teaching_habits.habits(
                read.cursor, read.chosen(asked), self._habit_ground(read), TeachingRules.usual()
            ),
        )

    def _skill(self, read: Reading, asked: Filters) -> Skill:
        return read.once(
            ("skill", asked), lambda: skill(read.cursor, read.chosen(asked), TeachingRules.usual())
        )

    @staticmethod
    def _standing(read: Reading, asked: Filters, one: Trouble) -> Standing:
        return read.once(("standing", asked, one.what, one.cause), lambda: teaching_people.standing(one))


def _asked(filters: Filters) -> Filters:
    return Filters(
        as_of=filters.as_of,
        closed_from=filters.closed_from,
        closed_to=filters.closed_to,
        depots=filters.depots,
    )
