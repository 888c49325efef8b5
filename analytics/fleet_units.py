"""Units that ring again and again: the facade as far as single units are compared with their like."""

import polars as pl

from analytics.fleet_records import FleetRecords
from analytics.questions.repeat_units import (
    RepeatUnits,
    field_words,
    listed_units,
    repeat_units,
    units_checked,
)
from analytics.questions.unit_histories import histories


class FleetUnits(FleetRecords):
    """Questions about units beside their like; see `analytics.fleet.Fleet`."""

    def repeat_units(self) -> RepeatUnits:
        """Repair calls a unit by age, and the units that ring more often than their like, beyond chance."""
        read = self._read()
        return read.once(
            ("repeat_units",), lambda: repeat_units(histories(read.cursor), field_words(read.cursor))
        )

    def repeat_unit_list(self, offset: int = 0, limit: int = 50) -> tuple[pl.DataFrame, int]:
        """Return a page of the units with most calls against their like, and how many there are in all.

        Parameters
        ----------
        offset, limit : int
            Rows to skip, and rows to return at most (up to 10,000: ask in pages).

        Returns
        -------
        pl.DataFrame, int
            The columns of `RepeatUnits.ranked`, and story, rule, step (words), checks (codes that the step
            has somebody make), cautions (their classes, a to c), and what was counted for the rule: counted
            (calls), counted_months, counted_causes (codes).

        Raises
        ------
        BadQuestion
            When the page is none.
        """
        read, ranked = self._read(), self.repeat_units().ranked
        checked = read.once(("units_checked",), lambda: units_checked(read.cursor))
        return listed_units(read.cursor, ranked, checked, offset, limit), ranked.height
