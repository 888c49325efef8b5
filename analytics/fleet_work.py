"""First visits, and what returns cost: the facade as far as it is about the work itself."""

import polars as pl

from analytics.filters import Filters
from analytics.fleet_records import FleetRecords
from analytics.questions import first_visit, parts_aboard
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
        whole, groups = first_visit.first_visits(read.cursor, chosen, by)
        aboard = parts_aboard.parts_aboard(read.cursor, self._second_trips(read, filters))
        return FirstVisit(whole, by, groups, aboard, bool(chosen.values["has_visits"]))

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

    @staticmethod
    def _second_trips(read: Reading, filters: Filters) -> pl.DataFrame:
        # what was fitted on them depends on no choice, and takes longer to find than a page may take
        every_trip = read.once(("second_trips",), lambda: parts_aboard.every_second_trip(read.cursor))
        return parts_aboard.second_trips(read.cursor, read.chosen(filters), every_trip)
