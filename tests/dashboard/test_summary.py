from datetime import date

import pytest

from analytics.filters import Filters
from dashboard.address import Address
from dashboard.pages.summary import recent
from dashboard.pages.view import View
from tests.dashboard.fake_fleet import FakeFleet


@pytest.mark.parametrize(
    ("filters", "since"),
    [
        (Filters(), date(2026, 2, 27)),  # the last call was closed on 27 June 2026: less 30 and 90 days
        (Filters(window_days=7), date(2026, 3, 22)),
        (Filters(closed_to=date(2025, 12, 31)), date(2025, 9, 2)),
        (Filters(as_of=date(2025, 12, 31)), date(2025, 9, 2)),
        (Filters(closed_from=date(2026, 5, 1)), date(2026, 5, 1)),
    ],
)
def test_recent_repairs_begin_a_quarter_before_the_last_that_can_be_judged(
    filters: Filters, since: date
) -> None:
    fleet = FakeFleet()
    view = View(fleet, Address(filters), fleet.choices())  # type: ignore[arg-type]
    assert recent(view) == since
