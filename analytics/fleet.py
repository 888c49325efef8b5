"""The facade: one method a question. Pages, the command line and notebooks ask here and nowhere else."""

from copy import copy
from typing import Any

import polars as pl

from analytics.filters import Filters
from analytics.questions import (
    data_quality,
    figures,
    labelling,
    lists,
    months,
    recording,
    spoiled,
    stories,
)
from analytics.questions.answers import CallStory, Figures, ObservationEnd, UnitStory
from analytics.questions.counting import counts_by_month, totals
from analytics.questions.reading import HasReader, Kept, Reading

__all__ = ["Fleet"]


class Fleet:
    """Questions about the calls in a store. Read-only; safe to share between threads.

    Parameters
    ----------
    store : Store
        The store to read. Each question sees the generation that is current when it is asked.
    """

    def __init__(self, store: HasReader) -> None:
        self._store = store
        self._kept = Kept()
        self._page: Reading | None = None

    def for_one_page(self) -> "Fleet":
        """Return the same questions, all answered from the generation that is current now; for one thread.

        Whatever is loaded meanwhile, the numbers of a page then belong together.
        """
        if self._store.current() is None:
            return self
        page = copy(self)
        page._page = self._read()
        return page

    def _read(self) -> Reading:
        return self._page or Reading(*self._store.reader().now(), self._kept)

    @staticmethod
    def _counts(read: Reading, filters: Filters) -> pl.DataFrame:
        return read.once(("counts", filters), lambda: counts_by_month(read.cursor, read.chosen(filters)))

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
            lambda: figures.headline(read.cursor, read.chosen(filters), self._counts(read, filters)),
        )
        return figures.grouped(read.cursor, read.chosen(filters), whole, by) if by else whole

    def by_month(self, filters: Filters) -> pl.DataFrame:
        """Callback rate by month of closing, with control limits.

        Returns
        -------
        pl.DataFrame
            Columns month (date), numerator, denominator, rate, low, high (0..1, null without judged calls),
            inside_window (completed calls too young to judge), limit_low, limit_high (three sigma about the
            pooled mean), mean, outside (bool: beyond a limit, null while any call is too young).
        """
        return months.by_month(self._counts(self._read(), filters), filters.match)

    def calls(
        self,
        filters: Filters,
        subset: str = "all",
        offset: int = 0,
        limit: int = 50,
        sort: str = "closed_at",
        descending: bool = True,
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the calls behind a number, and how many there are in all.

        Parameters
        ----------
        filters : Filters
            Which calls, window and match.
        subset : str
            One of `SUBSETS` (analytics.questions.subsets).
        offset, limit : int
            Rows to skip, and rows to return at most (up to 1,000; `None` is not allowed: ask in pages).
        sort : str
            One of `SORTS` (analytics.questions.lists).
        descending : bool
            Largest first; rows without a value come last either way.

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
        return lists.calls(read.cursor, read.chosen(filters), subset, offset, limit, sort, descending)

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
        return spoiled.spoiled(totals(self._counts(self._read(), filters)))

    def choices(self) -> dict[str, pl.DataFrame]:
        """What the filters can be set to.

        Returns
        -------
        dict of str to pl.DataFrame
            Keys depots, families, symptoms, causes, technicians, product_families, parts; each with columns
            value, label, calls; largest first. And closed: one row, columns first and last (dates).
        """
        read = self._read()
        return read.once(("choices",), lambda: data_quality.choices(read.cursor))

    def labels(self, field: str) -> dict[str, str]:
        """Return labels by code of one field of the catalogue.

        Parameters
        ----------
        field : str
            families, symptoms, causes, checks, parts, outcomes, job_kinds, visit_results, or an answer.
        """
        read = self._read()
        return read.once(("labels", field), lambda: labelling.labels(read.cursor, field))

    def observation_ends(self) -> list[ObservationEnd]:
        """Until when each source was watched, and depots that fell silent earlier."""
        return self._read().chosen(Filters()).ends

    def generation(self) -> dict[str, Any]:
        """Return number, made_at and file name of the data as loaded; empty before the first load."""
        current = self._page.generation if self._page else self._store.current()
        if current is None:
            return {}
        return {"number": current.number, "made_at": current.made_at, "file": current.path.name}

    def generations(self) -> pl.DataFrame:
        """Return the generations on the disk, newest first.

        Returns
        -------
        pl.DataFrame
            Columns number, made_at, size_bytes, is_current.
        """
        current = self.generation().get("number")
        kept = [
            {
                "number": each.number,
                "made_at": each.made_at,
                "size_bytes": each.path.stat().st_size,
                "is_current": each.number == current,
            }
            for each in self._store.generations()
            if each.path.exists()
        ]
        return pl.DataFrame(kept)

    def loads(self) -> pl.DataFrame:
        """Return the loads, latest first.

        Returns
        -------
        pl.DataFrame
            Columns load_id, started_at, finished_at, files, rows, loaded, updated, repeated, set_aside,
            withdrawn.
        """
        return data_quality.loads(self._read().cursor)

    def files(self, load_id: int | None = None) -> pl.DataFrame:
        """Return the files of one load or of all: the columns of loads.files without the mapping text."""
        return data_quality.files(self._read().cursor, load_id)

    def set_aside(
        self, file_id: int | None = None, offset: int = 0, limit: int = 50
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the rows set aside, and how many there are.

        Returns
        -------
        pl.DataFrame, int
            Columns file_id, file_name, table_name, line, reason, column_name, found, fields (list).
        """
        return data_quality.set_aside(self._read().cursor, file_id, offset, limit)

    def unrecognised(
        self, field: str | None = None, offset: int = 0, limit: int = 50
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the texts not recognised, and how many there are.

        Returns
        -------
        pl.DataFrame, int
            Columns field, text, rows (how many rows hold it); most frequent first.
        """
        return data_quality.unrecognised(self._read().cursor, field, offset, limit)

    def recording(self, by: str = "depot") -> pl.DataFrame:
        """Share of completed calls with something recorded.

        Parameters
        ----------
        by : str
            "depot" or "technician".

        Returns
        -------
        pl.DataFrame
            Columns group, label, calls, and for each of cause, outcome, visit, check, reading, filter_date
            the calls with it (cause_calls, ...) and their share of all (cause_share, ..., 0..1).
        """
        read = self._read()
        return read.once(
            ("recording", by), lambda: recording.recording(read.cursor, read.chosen(Filters()), by)
        )
