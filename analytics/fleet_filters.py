"""What an old filter does: the facade as far as it is about the age of filters."""

import polars as pl

from analytics.cost_assumptions import FilterCosts
from analytics.filters import Filters
from analytics.fleet_checks import FleetChecks
from analytics.questions import filter_failures
from analytics.questions.filter_age import FilterAge, filter_age
from analytics.questions.filter_intervals import FilterIntervals, Hazards, filter_intervals, hazards
from analytics.questions.filter_policies import FilterPolicies, filter_policies
from analytics.questions.filter_policy_draws import Draws, draws
from analytics.questions.overdue_filters import by_depot, page_of
from analytics.questions.reading import Reading


class FleetFilters(FleetChecks):
    """Questions about the age of filters; see `analytics.fleet.Fleet`."""

    def filter_age(self) -> FilterAge:
        """Failures over the time at risk by the age of the filter, and what failures alone say."""
        read = self._read()
        return read.once(("filter_age",), lambda: filter_age(read.cursor))

    def overdue_filters(
        self, depot: str | None = None, offset: int = 0, limit: int = 50
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the units past six months now, and how many there are.

        Parameters
        ----------
        depot : str, optional
            Only those of this depot.
        offset, limit : int
            Rows to skip, and rows to return at most (up to 10,000: ask in pages).

        Returns
        -------
        pl.DataFrame, int
            Columns unit_id, depot, product_family, water_supply, shutoff_valve, known_on, changed (false: age
            since installation), age_days, unit_age_days, as_of, calls_in_a_year, declined_on (latest filter
            visit declined since), expected (failures in the next 90 days, null where no rate is known),
            age_months; most failures expected first.

        Raises
        ------
        BadQuestion
            When the page is none.
        """
        return page_of(self.filter_age().overdue, depot, offset, limit)

    def overdue_by_depot(self) -> pl.DataFrame:
        """Return units past six months now by depot: columns depot, units, expected, age_months (median)."""
        return by_depot(self.filter_age().overdue)

    def _rows_of_failures(self, read: Reading, filters: Filters, subset: str, only: str) -> list[int] | None:
        """Return the rows, in marts.calls, of failures by filter age; None for any other subset."""
        if subset != filter_failures.SUBSET:
            return None
        rows = filter_failures.rows_of(read.cursor, self.filter_age().failures_at_risk, only).to_numpy()
        here = self._repairs(read, self._check_ground(read), filters)
        return list(map(int, rows[here.chosen[rows]]))

    def filter_policies(self, costs: FilterCosts | None = None) -> FilterPolicies:
        """What would be, if filters were changed by another rule: failures, filters used, and money.

        Parameters
        ----------
        costs : FilterCosts, optional
            Prices; those that come with the program without them.
        """
        return filter_policies(self._drawn()[0], costs or FilterCosts.usual())

    def filter_intervals(self, costs: FilterCosts | None = None) -> FilterIntervals:
        """Return the interval of changes that costs least in the long run, by group of households.

        Parameters
        ----------
        costs : FilterCosts, optional
            Prices; those that come with the program without them.
        """
        return filter_intervals(self._drawn()[1], costs or FilterCosts.usual())

    def _drawn(self) -> tuple[Draws, Hazards]:
        read = self._read()
        return read.once(("filter_policy_draws",), lambda: (draws(read.cursor), hazards(read.cursor)))
