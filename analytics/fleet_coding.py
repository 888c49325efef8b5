"""Codes in place of technicians: the facade as far as it is about whoever may not see names."""

import time
from functools import cached_property
from typing import TYPE_CHECKING

from analytics.coded_copy import make_coded_copy
from analytics.coded_files import remove_coded
from analytics.fleet_records import FleetRecords
from analytics.store import Store

if TYPE_CHECKING:
    from analytics.coded_fleet import CodedFleet, CodedStore

RETRIES_AFTER_S = 60.0
"""How long after a copy could not be made it is tried again."""


class FleetCoding(FleetRecords):
    """The coded copy; see `analytics.fleet.Fleet`."""

    _failed_at: float | None = None

    def in_codes(self) -> "CodedFleet":
        """Return the same questions, answered with codes in place of technicians.

        Raises
        ------
        NotReady
            While the copy that they are answered from is not there.
        """
        self._coded_store.current()
        return self._coded_fleet

    def keep_coded(self) -> bool:
        """Make the coded copy of the current generation where the accounts ask for one, and remove others.

        Its answers are worked out by another process, and until then the copy before it is shown.

        Returns
        -------
        bool
            Whether there is one now.

        Raises
        ------
        Exception
            Whatever went wrong; who asks for a page is told, and after a minute it is tried again.
        """
        current = self._store.current()
        if current is None or self.doors().accounts.names_from() == "look":
            remove_coded(self._store.folder)
            return False
        if self._failed_at is not None and time.monotonic() - self._failed_at < RETRIES_AFTER_S:
            return False
        try:
            make_coded_copy(self._store.folder, current)
            if self._coded_store.ready != current.number:
                self._coded_fleet.make_ready()
            remove_coded(self._store.folder, kept=[current.number])
        except Exception as error:
            self._failed_at = time.monotonic()
            self._coded_store.problem = f"The copy with codes in place of names could not be made. {error}"
            raise
        self._failed_at, self._coded_store.problem = None, ""
        return True

    @cached_property
    def _coded_store(self) -> "CodedStore":
        from analytics.coded_fleet import CodedStore

        assert isinstance(self._store, Store), "copies are made of a store, not of a reader of one"
        return CodedStore(self._store)

    @cached_property
    def _coded_fleet(self) -> "CodedFleet":
        from analytics.coded_fleet import CodedFleet

        return CodedFleet(self._coded_store)
