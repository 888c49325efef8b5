"""Where the wrong turn is taken: the facade as far as it is about first thoughts and what came of them."""

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import Filters
from analytics.fleet_checks import FleetChecks
from analytics.questions import cost_sums, first_thoughts, wrong_turn_subsets, wrong_turns
from analytics.questions.first_thoughts import FirstThoughts
from analytics.questions.reading import Reading
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

    def _rows_behind(
        self, read: Reading, filters: Filters, subset: str, check: str, only: str
    ) -> list[int] | None:
        """Return the rows, in marts.calls, behind a number that no statement can tell; None for any other."""
        if subset not in wrong_turn_subsets.TURN_SUBSETS:
            return self._rows_of_checks(read, filters, subset, check)
        here = self._repairs(read, self._check_ground(read), filters)
        return wrong_turn_subsets.rows_of(self._thoughts(read), here, subset, only)

    @staticmethod
    def _thoughts(read: Reading) -> FirstThoughts:
        # depends on no choice, and takes longer to read than a page may take
        return read.once(("first_thoughts",), lambda: first_thoughts.first_thoughts(read.cursor))
