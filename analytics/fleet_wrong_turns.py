"""Where the wrong turn is taken: the facade as far as it is about first thoughts and what came of them."""

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import Filters
from analytics.fleet_checks import FleetChecks
from analytics.habits import habits as known_habits
from analytics.questions import (
    cost_sums,
    first_thoughts,
    habit_ground,
    habits,
    wrong_turn_subsets,
    wrong_turns,
)
from analytics.questions.first_thoughts import FirstThoughts
from analytics.questions.habit_ground import HabitGround
from analytics.questions.habits import Habits
from analytics.questions.reading import Reading
from analytics.questions.subsets import OF_A_HABIT
from analytics.questions.wrong_turns import WrongTurns


class FleetWrongTurns(FleetChecks):
    """Questions about first thoughts; see `analytics.fleet.Fleet`."""

    def wrong_turns(self, filters: Filters, assumed: CostAssumptions | None = None) -> WrongTurns:
        """What was thought first against what it turned out to be, and what the wrong turns cost.

        Parameters
        ----------
        filters : Filters
            Which first calls of strings of returns. Strings are joined by 30 days and the same kind of
            complaint, whatever window and match are asked for.
        assumed : CostAssumptions, optional
            Instead of those that come with the program.
        """
        read = self._read()
        prices = assumed or CostAssumptions.usual()

        def ask() -> WrongTurns:
            ground = self._check_ground(read)
            work = read.once(("work_of_returns",), lambda: cost_sums.work(read.cursor))
            here = self._repairs(read, ground, filters)
            return wrong_turns.wrong_turns(read.cursor, ground, self._thoughts(read), here, work, prices)

        return read.once(("wrong_turns", filters, prices), ask)

    def habit_labels(self) -> dict[str, str]:
        """Return the words for each habit, by code."""
        return {habit.code: habit.label for habit in known_habits()}

    def habits(self, filters: Filters) -> Habits:
        """Steps not recorded before a diagnosis: how often, and how those calls fared.

        Parameters
        ----------
        filters : Filters
            Which first calls of strings of returns, as for `wrong_turns`.
        """
        read = self._read()

        def ask() -> Habits:
            here = self._repairs(read, self._check_ground(read), filters)
            return habits.habits(self._habit_ground(read), here)

        return read.once(("habits", filters), ask)

    def _rows_behind(
        self, read: Reading, filters: Filters, subset: str, check: str, only: str
    ) -> list[int] | None:
        """Return the rows, in marts.calls, behind a number that no statement can tell; None for any other."""
        if subset not in wrong_turn_subsets.TURN_SUBSETS | set(OF_A_HABIT):
            return self._rows_of_checks(read, filters, subset, check)
        here = self._repairs(read, self._check_ground(read), filters)
        if subset in OF_A_HABIT:
            return habits.rows_of(self._habit_ground(read), here, subset, only)
        return wrong_turn_subsets.rows_of(self._thoughts(read), here, subset, only)

    @staticmethod
    def _thoughts(read: Reading) -> FirstThoughts:
        # depends on no choice, and takes longer to read than a page may take
        return read.once(("first_thoughts",), lambda: first_thoughts.first_thoughts(read.cursor))

    def _habit_ground(self, read: Reading) -> HabitGround:
        ground, thoughts = self._check_ground(read), self._thoughts(read)
        return read.once(
            ("habit_ground",),
            lambda: habit_ground.habit_ground(read.cursor, ground, thoughts, known_habits()),
        )
