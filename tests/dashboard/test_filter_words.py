from datetime import date

import pytest

from analytics.filters import Filters
from dashboard.components.filter_words import in_words
from tests.dashboard.fake_fleet import FakeFleet

COUNTS = "a return within 30 days for the same kind of complaint counts"


@pytest.mark.parametrize(
    ("filters", "says"),
    [
        (Filters(), "All calls"),
        (Filters(depots=("north", "hills")), "North or Hills"),
        (
            Filters(closed_from=date(2026, 1, 1), closed_to=date(2026, 6, 30)),
            "Closed from Jan 2026; closed until Jun 2026",
        ),
        (
            Filters(closed_from=date(2026, 1, 2), as_of=date(2026, 3, 1)),
            "Closed from 2 Jan 2026; as the records stood on 1 Mar 2026",
        ),
        (Filters(product_families=("side_by_side",)), "Side by side"),
        (Filters(depots=("north", "")), "North or no depot recorded"),
    ],
)
def test_filters_are_said_in_words(filters: Filters, says: str) -> None:
    assert in_words(filters, FakeFleet().choices()) == f"{says}; {COUNTS}"
