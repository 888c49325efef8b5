"""The lists of the page This week as tables to keep, with what was decided on each row."""

from collections.abc import Callable, Mapping

import polars as pl

from analytics.errors import StoreProblem
from analytics.fleet import Fleet
from dashboard.address import Address
from dashboard.components.people import COMPARED_CAN_NOT_SAY, LISTED_CAN_NOT_SAY
from dashboard.pages.this_week import PARTS


def _table(kind: str) -> Callable[[Fleet, Address], pl.DataFrame]:
    def ask(fleet: Fleet, address: Address) -> pl.DataFrame:
        found = fleet.this_week(address.filters.but(as_of=None))
        if found.problem:
            raise StoreProblem(found.problem)
        return found.lists[kind].drop("key")

    return ask


REVIEW_TABLES: Mapping[str, Callable[[Fleet, Address], pl.DataFrame]] = {
    part.table: _table(kind) for kind, part in PARTS.items()
}
OPENINGS = {
    PARTS["return"].table: [LISTED_CAN_NOT_SAY],
    PARTS["group"].table: [COMPARED_CAN_NOT_SAY],
}
"""What a table that names technicians can not say; it stands before its first line."""
