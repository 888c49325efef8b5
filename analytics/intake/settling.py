"""Settling how dates and numbers are read: on the first rows where they leave no doubt, else on all."""

from collections.abc import Iterable
from itertools import islice

import duckdb

from analytics import queries
from analytics.errors import NeedsAnswer
from analytics.intake import dates, numbers
from analytics.intake.careful import Rejected, records
from analytics.intake.contract import DATED, NUMERIC
from analytics.intake.mapping import TableMapping
from analytics.intake.reading import Reading

SAMPLE_ROWS = 500


class Settling:
    """The dates and numbers of one file.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    name : str
        The file, for messages.
    reading : Reading
        Its `formats`, `zoned` and `signs` are set here.
    mapping : TableMapping
        What the user said; it is believed.
    """

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, name: str, reading: Reading, mapping: TableMapping
    ) -> None:
        self._connection = connection
        self._name = name
        self._reading = reading
        self._mapping = mapping
        self._whole: set[str] = set()
        self.messages: list[str] = []
        self.orders: dict[str, str] = {}
        self.open: dict[str, str] = {}

    def by_sample(self, lines: Iterable[str]) -> None:
        """Settle the columns whose first rows leave no doubt; the others over the whole file.

        Parameters
        ----------
        lines : iterable of str
            Physical lines from the beginning of the file.

        Raises
        ------
        NeedsAnswer
            When a column can be read in two ways; `open` then says which, and why.
        """
        sample = [
            each
            for each in islice(records(lines, self._reading), SAMPLE_ROWS)
            if not isinstance(each, Rejected)
        ]
        for column, place in self._reading.columns.items():
            kind = self._reading.table.columns[column].kind
            values = [value for row in sample if (value := row[place].strip())]
            if kind in DATED:
                self._sampled_dates(column, values)
            elif kind in NUMERIC:
                self._sampled_numbers(column, values)
        self._ask()

    def over_whole_file(self, columns: Iterable[str]) -> bool:
        """Settle columns that held values which could not be read; say whether they are to be read anew.

        Parameters
        ----------
        columns : iterable of str
            Ours; those settled over the whole file already are left as they are.
        """
        anew = False
        for column in columns:
            kind = self._reading.table.columns[column].kind
            if column in self._whole or kind not in (*DATED, *NUMERIC):
                continue
            before = (self._reading.formats.get(column), self._reading.signs.get(column))
            (self._whole_dates if kind in DATED else self._whole_numbers)(column)
            anew = anew or before != (self._reading.formats.get(column), self._reading.signs.get(column))
        self._ask()
        return anew

    def _ask(self) -> None:
        if self.open:
            hints = [f"{column} is {order}" for column, order in self.orders.items()]
            hint = (
                f"\n\nIn the same file {' and '.join(hints)}, which may or may not hold here."
                if hints
                else ""
            )
            raise NeedsAnswer(f"{self._name}: " + "\n\n".join(self.open.values()) + hint, tuple(self.open))

    def _sampled_dates(self, column: str, values: list[str]) -> None:
        shapes = [dates.shape_of(value) for value in values]
        if not all(map(dates.is_iso, shapes)):
            self._whole_dates(column)
            return
        seen = [
            dates.Shape(shape, shapes.count(shape), values[shapes.index(shape)], 0)
            for shape in dict.fromkeys(shapes)
        ]
        self._adopt(column, dates.decide(seen))

    def _sampled_numbers(self, column: str, values: list[str]) -> None:
        if column in self._mapping.decimals or any("," in value for value in values):
            self._whole_numbers(column)

    def _whole_dates(self, column: str) -> None:
        self._whole.add(column)
        rows = queries.frame(
            self._connection, "staging/date_shapes", self._reading.values() | {"column": column}
        )
        shapes = [dates.Shape(**row) for row in rows.to_dicts()]
        decision = dates.decide(shapes, self._mapping.dates.get(column))
        if decision.open:
            self.open[column] = self._open_order(column, shapes, decision.open)
        self._adopt(column, decision)
        if decision.order:
            self.orders[column] = decision.order

    def _adopt(self, column: str, decision: dates.Decision) -> None:
        if decision.formats:
            self._reading.formats[column] = decision.formats
        if decision.zoned:
            self._reading.zoned.add(column)
            self.messages.append(
                f"times of {column} carry an offset from UTC; the clock time is kept as it is written"
            )

    def _whole_numbers(self, column: str) -> None:
        self._whole.add(column)
        if wanted := self._mapping.decimals.get(column):
            self._reading.signs[column] = wanted
            return
        values = self._reading.values() | {"column": column}
        row = queries.frame(self._connection, "staging/number_shapes", values).row(0, named=True)
        signs = numbers.Signs(**row)
        decided = numbers.decide(signs)
        if decided is None:
            self.open[column] = self._open_sign(column, signs)
            return
        self._reading.signs[column] = decided
        if decided == numbers.EITHER:
            self.messages.append(
                f"{column} is written with decimal commas and with decimal points; both were read"
            )

    def _open_order(self, column: str, shapes: list[dates.Shape], why: str) -> str:
        example = next(each for each in shapes if dates.is_open(each.shape))
        return (
            f"Whether day or month comes first in the column '{self._header(column)}' ({column}) can not be "
            f"told: {why}. Line {example.line} has '{example.example}'. Write into a mapping\n\n"
            f'[{self._reading.table.name}.dates]\n{column} = "day first"\n\n'
            f'or "month first", and load the file with --mapping.'
        )

    def _open_sign(self, column: str, signs: numbers.Signs) -> str:
        return (
            f"Whether the comma in the column '{self._header(column)}' ({column}) is a decimal sign or parts "
            f"the thousands can not be told. Line {signs.line} has '{signs.example}'. Write in a mapping\n\n"
            f'[{self._reading.table.name}.decimals]\n{column} = "comma"\n\n'
            f'or "point", and load the file with --mapping.'
        )

    def _header(self, column: str) -> str:
        return self._reading.header[self._reading.columns[column]]
