"""Which generation is asked: the facade as far as it is about that, and about answers worked out ahead."""

from collections.abc import Callable
from copy import copy
from datetime import datetime
from typing import Any, Self

from analytics.filters import Filters
from analytics.preparing import answers_ahead
from analytics.questions.reading import Answer, HasReader, Kept, Readable, Reading, in_a_thread
from analytics.store_files import Generation
from analytics.store_reader import HoldingReader

MOST_AGAIN = 12
"""Windows and matches that are prepared anew since people asked for them; there are twelve without a day."""


class FleetShown:
    """The generation that is shown; see `analytics.fleet.Fleet`.

    Parameters
    ----------
    store : Store
        The store to read.
    kept : Kept, optional
        Where answers are kept.
    """

    _in_codes = False

    def __init__(self, store: HasReader, kept: Kept | None = None) -> None:
        self._store = store
        self._kept = kept or Kept()
        self._page: Reading | None = None
        self._reader: Readable = store.reader()

    def holding(self) -> Self:
        """Return the same questions, asked of one generation until `make_ready` has prepared the next."""
        held = copy(self)
        held._reader = HoldingReader(self._store.folder)
        return held

    def newest(self) -> Self:
        """Return the same questions, asked of the newest generation, prepared or not."""
        newest = copy(self)
        newest._reader = self._store.reader()
        return newest

    def for_one_page(self) -> Self:
        """Return the same questions, all answered from the generation that is shown now; for one thread.

        Whatever is loaded meanwhile, the numbers of a page then belong together.
        """
        if self._store.current() is None:
            return self
        page = copy(self)
        page._page = self._read()
        return page

    def meanwhile(self, ask: Callable[[Self], Answer]) -> Callable[[], Answer]:
        """Have a question answered in a thread while others are asked here.

        Parameters
        ----------
        ask : callable
            Gets the same facade, on the same generation, and returns the answer.

        Returns
        -------
        callable
            Waits for the answer and returns it, or raises what asking raised.
        """
        page = copy(self)
        page._page = self._read().beside()
        return in_a_thread(ask, page)

    def generation(self) -> dict[str, Any]:
        """Return number, made_at and file name of the data as loaded; empty before the first load."""
        current = self._page.generation if self._page else self._store.current()
        if current and not self._page and isinstance(self._reader, HoldingReader):
            current = self._reader.generation()
        if current is None:
            return {}
        return {"number": current.number, "made_at": current.made_at, "file": current.path.name}

    def loaded_meanwhile(self) -> datetime | None:
        """Return when newer data was loaded than is shown; None where the newest is shown."""
        newest = self._loaded()
        return newest.made_at if newest and newest.number != self.generation().get("number") else None

    def make_ready(self) -> None:
        """Have the answers of the newest generation worked out by another process, then show it.

        What is loaded while that goes on is for the next time: so each that was prepared comes to be shown,
        however fast they follow each other.

        Raises
        ------
        PreparingFailed
            When that process came to no end; the generation is shown all the same.
        """
        newest = self._loaded()
        if newest is None:
            return
        self.generation()  # what is read when nothing was before is shown at once
        prepared = newest.number
        ahead = answers_ahead(self._store.folder, self._asked_lately(), in_codes=self._in_codes)
        try:
            for prepared, question, answer in ahead:
                self._kept.keep(prepared, question, answer, for_good=True)
        finally:
            self._move_on(prepared)
            self._kept.show(prepared)

    def _loaded(self) -> Generation | None:
        """Return the newest generation that was loaded."""
        return self._store.current()

    def _move_on(self, number: int) -> None:
        """Show a generation whose answers are there."""
        if isinstance(self._reader, HoldingReader):
            self._reader.move_on(number)

    def _asked_lately(self) -> list[Filters]:
        """Return windows and matches that people compared by in the data shown now."""
        return self._kept.chosen(self.generation().get("number", 0), "comparisons")[:MOST_AGAIN]

    def _read(self) -> Reading:
        return self._page or Reading(*self._reader.now(), self._kept)
