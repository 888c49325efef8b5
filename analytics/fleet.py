"""The facade: one method a question. Pages, the command line and notebooks ask here and nowhere else."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import date

import polars as pl

from analytics.errors import BadModel
from analytics.filters import Filters
from analytics.fleet_causes import FleetCauses
from analytics.fleet_changing import FleetChanging
from analytics.fleet_coding import FleetCoding
from analytics.fleet_comparing import FleetComparing
from analytics.fleet_filters import FleetFilters
from analytics.fleet_lessons import FleetLessons
from analytics.fleet_teaching import FleetTeaching
from analytics.fleet_time import FleetTime
from analytics.fleet_units import FleetUnits
from analytics.fleet_work import FleetWork
from analytics.questions import figures, lists, months, ringing_again, silence, spoiled, stories
from analytics.questions.answers import CallStory, Figures, UnitStory
from analytics.questions.checks import CHECKED_BY
from analytics.questions.counting import Counts, counts
from analytics.questions.reading import Reading
from analytics.questions.ringing_again import RingingAgain
from analytics.questions.silence import SAMPLE, Silence

__all__ = ["Fleet"]


class Fleet(
    FleetCauses,
    FleetLessons,
    FleetWork,
    FleetTeaching,
    FleetComparing,
    FleetTime,
    FleetUnits,
    FleetFilters,
    FleetChanging,
    FleetCoding,
):
    """Questions about the calls in a store, and what people decide about them. Records are never changed;
    safe to share between threads.

    Parameters
    ----------
    store : Store
        The store to read. Each question sees the generation that is current when it is asked.
    """

    def prepare(self, also: Sequence[Filters] = ()) -> None:
        """Answer ahead, with the usual window, what takes longest; the answers are kept a generation long.

        Parameters
        ----------
        also : sequence of Filters
            Windows and matches beside the usual ones by which groups are to be compared.
        """
        page = self.for_one_page()
        if not page.generation():
            return
        page.figures(Filters())
        page.this_week(Filters())
        page.over_time(Filters())
        page.repeat_unit_list()
        page.costs(Filters())
        page.first_visit(Filters())
        # the rest can wait until those are there
        checks = page.meanwhile(lambda fleet: [fleet.checks(Filters(), by) for by in CHECKED_BY])
        page.filter_age()
        page.filter_policies()
        page.filter_intervals()
        page.wrong_turns(Filters())
        page.habits(Filters())
        page.teaching(Filters())
        page.new_technicians(Filters())
        with suppress(BadModel):  # whoever asks for its pages is told why
            page.model_card()
            page.new_call_pack()
        checks()
        page.teaching_habits(Filters())
        page.learn_phrases()
        for filters in also:
            page.this_week(filters)

    @staticmethod
    def _counts(read: Reading, filters: Filters) -> Counts:
        return read.once(("counts", filters), lambda: counts(read.cursor, read.chosen(filters)))

    def figures(self, filters: Filters, by: str | None = None) -> Figures:
        """Callback rate and first-time fix, with what was left out and what bends them.

        Parameters
        ----------
        filters : Filters
            Which calls, window and match.
        by : str, optional
            One of `GROUPINGS`: figures of each group too.

        Raises
        ------
        BadQuestion
            When there is no such grouping.
        """
        read = self._read()
        whole = read.once(
            ("headline", filters),
            lambda: figures.headline(read, read.chosen(filters), self._counts(read, filters)),
        )
        return figures.grouped(read, read.chosen(filters), whole, by) if by else whole

    def by_month(self, filters: Filters) -> pl.DataFrame:
        """Callback rate by month of closing, with control limits.

        Returns
        -------
        pl.DataFrame
            Columns month (date), numerator, denominator, rate, low, high (0..1, null without judged calls),
            inside_window (completed calls too young to judge), limit_low, limit_high (three sigma about the
            pooled mean), mean, outside (bool: beyond a limit, null while any call is too young), in_run
            (bool: one of nine months in a row or more on one side of the mean, null likewise), and the
            estimates of recent months described at `rates_over_time`.
        """
        read = self._read()

        def ask() -> pl.DataFrame:
            counted = self._counts(read, filters).by_month
            return self._with_estimates(read, filters, months.by_month(counted, filters.match))

        return read.once(("months", filters), ask)

    def ringing_again(self, filters: Filters, by: str | None = None) -> RingingAgain:
        """Days until they ring again: the share that came back, by days since closing, up to a year.

        Raises
        ------
        BadQuestion
            When there is no such grouping.
        """
        read = self._read()
        return ringing_again.ringing_again(read, read.chosen(filters), by)

    def silence(self, filters: Filters) -> Silence:
        """How often repairs that nobody rang about again do not work; the office's own mark against ours."""
        read = self._read()
        return silence.silence(read.cursor, read.chosen(filters))

    def silent_sample(self, filters: Filters, week_of: date, wanted: int = SAMPLE) -> pl.DataFrame:
        """Draw silent calls to ask about: at random, the same all week, at most one a unit.

        Parameters
        ----------
        filters : Filters
            Which calls; of them those whose window has passed in the last 90 days, and nobody was asked yet.
        week_of : date
            Any day of the week.
        wanted : int
            How many.

        Returns
        -------
        pl.DataFrame
            Columns call_id, unit_id, depot, closed_at, symptoms, cause, parts.
        """
        read = self._read()
        return silence.silent_sample(read.cursor, read.chosen(filters), week_of, wanted)

    def calls(
        self,
        filters: Filters,
        subset: str = "all",
        offset: int = 0,
        limit: int = 50,
        sort: str = "closed_at",
        descending: bool = True,
        check: str = "",
        only: str = "",
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the calls behind a number, and how many there are in all.

        Parameters
        ----------
        filters : Filters
            Which calls, window and match.
        subset : str
            One of `SUBSETS` (analytics.questions.subsets).
        offset, limit : int
            Rows to skip, and rows to return at most (up to 10,000: ask in pages).
        sort : str
            One of `SORTS` (analytics.questions.lists).
        descending : bool
            Largest first; rows without a value come last either way.
        check : str
            Of subsets about a check, only the calls of this one; "" for any check.
        only : str
            Of subsets about wrong turns, only "first thought:final cause" (either may be left blank); of
            parts that were not the cause, only this part; of habits, only this one; of failures by filter
            age, as `filter_failures.at_age` writes it; "" for any.

        Returns
        -------
        pl.DataFrame, int
            Columns call_id, unit_id, opened_at, opened_has_time, closed_at, closed_has_time, standing,
            job_kind, depot, technician, symptoms (list), cause, outcome, product_family, visits, parts
            (list), filter_age_days, came_back (bool, null while too young), is_callback, days_until_return.

        Raises
        ------
        BadQuestion
            When there is no such subset or sort column.
        """
        read = self._read()
        rows = self._rows_of_failures(read, filters, subset, only)
        if rows is None:
            rows = self._rows_behind(read, filters, subset, check, only)
        return lists.calls(read.cursor, read.chosen(filters), subset, offset, limit, sort, descending, rows)

    def returns(
        self,
        filters: Filters,
        offset: int = 0,
        limit: int = 50,
        sort: str = "return_opened_at",
        descending: bool = True,
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of returns, each beside the call it is counted against, and how many there are.

        The filters choose the earlier call. Only returns of calls whose window has passed are listed, so that
        the calls in the list are the numerator of the callback rate.

        Returns
        -------
        pl.DataFrame, int
            Columns call_id, unit_id, depot, technician, closed_at, symptoms, cause, parts, return_call_id,
            return_opened_at, days_between, return_technician, return_symptoms, return_cause, return_standing.
        """
        read = self._read()
        return lists.returns(read.cursor, read.chosen(filters), offset, limit, sort, descending)

    def call(self, call_id: str) -> CallStory:
        """All that is known of one call.

        Raises
        ------
        UnknownRecord
            When there is no such call.
        """
        return stories.call(self._read().cursor, call_id)

    def unit(self, unit_id: str) -> UnitStory:
        """All that is known of one unit.

        Raises
        ------
        UnknownRecord
            When there is no such unit.
        """
        return stories.unit(self._read().cursor, unit_id)

    def spoiled(self, filters: Filters) -> pl.DataFrame:
        """What spoils first-time fix.

        Returns
        -------
        pl.DataFrame
            Columns reason (came_back, part, diagnosis, no_access, other), label, calls (first reason that
            applies, in this order: they add up to the calls not fixed the first time), calls_any (all that
            it applies to), subset (for `calls`).
        """
        return spoiled.spoiled(self._counts(self._read(), filters).totals)
