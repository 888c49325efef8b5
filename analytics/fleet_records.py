"""What was loaded, and what the filters can be set to: the facade as far as it is about records."""

import polars as pl

from analytics.doors import Doors
from analytics.filters import Filters
from analytics.fleet_shown import FleetShown
from analytics.questions import data_quality, labelling, recording
from analytics.questions.answers import ObservationEnd


class FleetRecords(FleetShown):
    """Questions about what was loaded; see `analytics.fleet.Fleet`."""

    def doors(self) -> Doors:
        """Who may come in: accounts, sessions, and the audit of what was done."""
        return Doors(self._store.folder)

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
        self,
        file_id: int | None = None,
        offset: int = 0,
        limit: int = 50,
        reason: str | None = None,
    ) -> tuple[pl.DataFrame, int]:
        """Return a page of the rows set aside and not mended since, and how many there are.

        Returns
        -------
        pl.DataFrame, int
            Columns file_id, file_name, table_name, line, reason, column_name, found, fields (list),
            header (list) of the file.
        """
        return data_quality.set_aside(self._read().cursor, file_id, offset, limit, reason)

    def set_aside_reasons(self) -> pl.DataFrame:
        """Count the rows set aside and not mended since by first reason: columns reason, rows; most first."""
        return data_quality.set_aside_reasons(self._read().cursor)

    def taken_back(self) -> pl.DataFrame:
        """Return the files that were taken back, latest first.

        Returns
        -------
        pl.DataFrame
            As `files`, with taken_back_by (the load that did it) and taken_back_at.
        """
        return data_quality.taken_back(self._read().cursor)

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
