"""A ledger that collects what happens, column by column, and gives it back as whole arrays."""

from typing import Any

import numpy as np

Columns = dict[str, Any]


def _narrow(value: Any) -> np.ndarray:
    """Whole numbers in 4 bytes: no count of a fleet needs more, and large fleets halve their memory."""
    column = np.asarray(value)
    return column.astype(np.int32) if column.dtype.kind == "i" else column


class Ledger:
    """Rows of several tables, added in batches.

    Every batch of a table has the same columns; a column is an array, or one value for all its rows.
    """

    def __init__(self) -> None:
        self._batches: dict[str, list[Columns]] = {}
        self._counts: dict[str, int] = {}

    def count(self, table: str) -> int:
        """Rows added so far: the number that the next row will get."""
        return self._counts.get(table, 0)

    def reserve(self, name: str, size: int) -> np.ndarray:
        """Give out the next `size` numbers of a kind, for rows that are written later."""
        first = self._counts.get(name, 0)
        self._counts[name] = first + size
        return np.arange(first, first + size)

    def add(self, table: str, size: int, **columns: Any) -> np.ndarray:
        """Add a batch of rows; return their numbers, shape (size,)."""
        first = self.count(table)
        numbers = np.arange(first, first + size)
        if size:
            whole = {
                name: np.array(np.broadcast_to(_narrow(value), (size,))) for name, value in columns.items()
            }
            self._batches.setdefault(table, []).append(whole)
            self._counts[table] = first + size
        return numbers

    def peek(self, table: str, column: str) -> np.ndarray:
        """One column of a table as a whole."""
        batches = self._batches.get(table, [])
        return np.concatenate([batch[column] for batch in batches]) if batches else np.array([])

    def last(self, table: str, size: int) -> dict[str, np.ndarray]:
        """The last `size` rows of a table."""
        batches = self._batches.get(table, [])
        return {
            name: np.concatenate([batch[name] for batch in batches[-size:]])[-size:] for name in batches[-1]
        }

    def take(self, table: str, like: dict[str, Any] | None = None) -> dict[str, np.ndarray]:
        """Give back a table as whole arrays and forget its batches.

        Parameters
        ----------
        like : dict of str to dtype, optional
            Columns to give back, empty, when nothing was ever added.
        """
        batches = self._batches.pop(table, [])
        if not batches:
            return {name: np.array([], dtype) for name, dtype in (like or {}).items()}
        names = list(batches[0])
        return {name: np.concatenate([batch.pop(name) for batch in batches]) for name in names}
