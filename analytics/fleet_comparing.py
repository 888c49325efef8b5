"""Fair comparison, and which groups are worth a look: the facade as far as groups are compared."""

from collections.abc import Mapping

import polars as pl

from analytics.filters import Filters
from analytics.fleet_records import FleetRecords
from analytics.questions.comparing import comparisons
from analytics.questions.comparison import Comparison, check_question
from analytics.questions.worth_a_look import worth_a_look


class FleetComparing(FleetRecords):
    """Questions about groups beside each other; see `analytics.fleet.Fleet`."""

    def compared(self, filters: Filters, by: str, period: str = "year") -> Comparison:
        """Returns of each group against those expected from what was known before the technician acted.

        Parameters
        ----------
        filters : Filters
            For window, match and date; its other choices are not applied: everybody's calls are compared.
        by : str
            technician, depot, part or product_family.
        period : str
            "year": the last twelve months of calls that can be judged; "week": the last week of them, not for
            people.

        Raises
        ------
        BadQuestion
            When such a comparison is not made.
        """
        check_question(by, period)
        return self._comparisons(filters)[by, period]

    def worth_a_look(self, filters: Filters | None = None) -> pl.DataFrame:
        """Groups with more returns than chance explains, within one error budget for the week.

        Parameters
        ----------
        filters : Filters, optional
            For window, match and date, as for `compared`.

        Returns
        -------
        pl.DataFrame
            Columns by, period, group, label, calls, came_back, expected, ratio, low, high, shrunk,
            extra_returns, since, until; most to be gained first. Empty where chance explains all.
        """
        return worth_a_look(self._comparisons(filters or Filters()))

    def _comparisons(self, filters: Filters) -> Mapping[tuple[str, str], Comparison]:
        everybody = Filters(filters.window_days, filters.match, filters.as_of)
        read = self._read()
        chosen = read.chosen(everybody)
        return read.once(("comparisons", everybody), lambda: comparisons(read.cursor, chosen), alone=True)
