"""First visits, and what returns cost: the facade as far as it is about the work itself."""

import polars as pl

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import Filters
from analytics.fleet_records import FleetRecords
from analytics.questions import cost_sums, costs, first_visit, parts_aboard
from analytics.questions.cost_sums import CostSums, Work
from analytics.questions.costs import Costs
from analytics.questions.first_visit import FirstVisit
from analytics.questions.reading import Reading


class FleetWork(FleetRecords):
    """Questions about visits, parts and costs; see `analytics.fleet.Fleet`."""

    def first_visit(self, filters: Filters, by: str | None = None) -> FirstVisit:
        """Why first visits fail: the reasons, by group too, and which parts aboard would have saved a trip.

        Parameters
        ----------
        filters : Filters
            Which calls, window and match.
        by : str, optional
            One of `GROUPINGS`: first visits of each group too.

        Raises
        ------
        BadQuestion
            When there is no such grouping.
        """
        read = self._read()
        chosen = read.chosen(filters)
        whole, reasons, groups = first_visit.first_visits(read.cursor, chosen, by)
        aboard = parts_aboard.parts_aboard(read.cursor, self._second_trips(read, filters))
        return FirstVisit(whole, reasons, by, groups, aboard, bool(chosen.values["has_visits"]))

    def second_trips(self, filters: Filters) -> pl.DataFrame:
        """Return the completed calls that took a second trip for a part, and what was fitted afterwards.

        Returns
        -------
        pl.DataFrame
            Columns call_id, parts (codes, separated by blanks; "" where none is recorded or recognised),
            not_recognised (parts fitted afterwards that are in no catalogue) and saved_from_step (of the
            best set of `FirstVisit.aboard`; null where it would not have saved the trip).
        """
        read = self._read()
        trips = self._second_trips(read, filters)
        return parts_aboard.with_step(trips, parts_aboard.parts_aboard(read.cursor, trips)).drop("row_id")

    def costs(self, filters: Filters, by: str = "cause", assumed: CostAssumptions | None = None) -> Costs:
        """What returns cost, in all and by group, and what halving the excess of groups would save.

        Parameters
        ----------
        filters : Filters
            Which repairs, window and match.
        by : str
            cause (found on the repair that came back), final_cause (of the string of returns), depot or
            product_family.
        assumed : CostAssumptions, optional
            Instead of those that come with the program.

        Raises
        ------
        BadQuestion
            When costs are not given by that.
        """
        costs.check_grouping(by)
        read = self._read()
        done = self._work(read)
        sums: CostSums = read.once(
            ("cost_sums", filters, by),
            lambda: cost_sums.cost_sums(read.cursor, read.chosen(filters), done, by),
        )
        counts, labels = read.once(
            ("cost_groups", filters, by),
            lambda: cost_sums.groups_of(read.cursor, read.chosen(filters), sums, by),
        )
        return costs.costs(sums, counts, labels, done, assumed or CostAssumptions.usual(), by)

    def costed_returns(
        self, filters: Filters, by: str = "cause", assumed: CostAssumptions | None = None
    ) -> pl.DataFrame:
        """Return the returns behind `costs` one by one, with what each took and cost.

        Returns
        -------
        pl.DataFrame
            Columns call_id, return_call_id, group, final_cause, visits, minutes, untimed (visits),
            part_money, unpriced (parts), cost.
        """
        costs.check_grouping(by)
        read = self._read()
        done = self._work(read)
        rows = cost_sums.returns_of(read.cursor, read.chosen(filters), done, by)[1]
        return costs.priced(rows, assumed or CostAssumptions.usual(), done)

    @staticmethod
    def _work(read: Reading) -> Work:
        # depends on no choice and on no assumption, and takes longer to read than a page may take
        return read.once(("work_of_returns",), lambda: cost_sums.work(read.cursor))

    @staticmethod
    def _second_trips(read: Reading, filters: Filters) -> pl.DataFrame:
        # what was fitted on them depends on no choice, and takes longer to find than a page may take
        every_trip = read.once(("second_trips",), lambda: parts_aboard.every_second_trip(read.cursor))
        return parts_aboard.second_trips(read.cursor, read.chosen(filters), every_trip)
