"""Checks, and what was proved by them: the facade as far as it is about what technicians check."""

from analytics.filters import Filters
from analytics.fleet_records import FleetRecords
from analytics.questions import check_ground, check_subsets, checks, cost_sums
from analytics.questions.check_ground import CheckGround, Layout
from analytics.questions.checks import Checks, ChosenRepairs
from analytics.questions.reading import Reading


class FleetChecks(FleetRecords):
    """Questions about checks; see `analytics.fleet.Fleet`."""

    def checks(self, filters: Filters, by: str | None = None) -> Checks:
        """Which checks find the fault, which were not recorded, and how repairs fare by what was checked.

        Parameters
        ----------
        filters : Filters
            Which repairs; the window and match hold for callback rates alone: what a check found is judged
            by strings of returns, always with 30 days and the same kind of complaint.
        by : str, optional
            family or symptom: checks by kind of complaint or by symptom too.

        Raises
        ------
        BadQuestion
            When checks are not given by that.
        """
        checks.check_grouping(by)
        read = self._read()
        ground = self._check_ground(read)
        layout = self._layout(read, ground, by) if by else None
        return checks.checks(read.cursor, ground, self._repairs(read, ground, filters), by, layout)

    def _rows_of_checks(self, read: Reading, filters: Filters, subset: str, check: str) -> list[int] | None:
        """Return the rows, in marts.calls, behind a number about checks; None for any other subset."""
        if subset not in check_subsets.CHECK_SUBSETS:
            return None
        ground = self._check_ground(read)
        return check_subsets.rows_of(ground, self._repairs(read, ground, filters), subset, check).tolist()

    @staticmethod
    def _repairs(read: Reading, ground: CheckGround, filters: Filters) -> ChosenRepairs:
        thirty_days = read.chosen(filters.but(window_days=30, match="family"))
        return checks.chosen_repairs(read.cursor, ground, read.chosen(filters), thirty_days)

    @staticmethod
    def _check_ground(read: Reading) -> CheckGround:
        # depends on no choice, and takes longer to read than a page may take
        work = read.once(("work_of_returns",), lambda: cost_sums.work(read.cursor))
        return read.once(("check_ground",), lambda: check_ground.check_ground(read.cursor, work.returns))

    @staticmethod
    def _layout(read: Reading, ground: CheckGround, by: str) -> Layout:
        return read.once(
            ("check_layout", by), lambda: check_ground.grouped(ground, checks.groups_by(read.cursor, by))
        )
