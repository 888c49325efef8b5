"""Files that people bring: the facade as far as it is about taking files in."""

from analytics.fleet_records import FleetRecords
from analytics.intake.bringing import Bringing
from analytics.store import Store


class FleetBringing(FleetRecords):
    """Bringing files; see `analytics.fleet.Fleet`."""

    def bringing(self) -> Bringing:
        """Return what takes files in, asks about them, tries them and keeps them."""
        assert isinstance(self._store, Store), "files are brought to a store, not to a reader of one"
        return Bringing(self._store)
