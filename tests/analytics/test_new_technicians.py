"""How technicians come on, by hand: what is expected, whose months, what is left out."""

from collections.abc import Callable
from datetime import date

import pytest

from analytics.filters import Filters
from analytics.questions import new_technicians
from tests.analytics.small_fleet import SmallFleet

STARTED = {"T1": date(2026, 1, 1), "T2": date(2020, 1, 1), "T3": date(2026, 1, 10), "T4": date(2026, 3, 1)}


def fleet() -> SmallFleet:
    """The example of docs/metrics.md: calls of one month, alike but for the technician."""
    made = SmallFleet()
    for technician, started in STARTED.items():
        made._add("technicians", {"technician_id": technician, "started_on": started})
    for technician, calls, back in (("T1", 10, 4), ("T2", 20, 2), ("T3", 10, 2), ("T4", 1, 0), ("T5", 2, 0)):
        for n in range(calls):
            name = f"{technician}N{n}"
            made.call(name, f"U{name}", opened="2026-02-02 09:00", technician_id=technician)
            made.visit(f"V{name}", name, arrived="2026-02-02 10:00", technician_id=technician)
            if n < back:  # rung again about, and nothing was done
                made.call(f"{name}R", f"U{name}", opened="2026-02-10 09:00", outcome="cancelled")
    made.ends("2026-06-01")
    return made.build()


def check_example() -> None:
    found = fleet().fleet.new_technicians(Filters())
    rows = {(row["what"], row["months"]): row for row in found.curve.to_dicts()}
    # 8 of 43 came back: of the 20 calls of T1 and T3, in their first three months, 3.72 were expected, 6 did
    new, old = rows["came_back", "0-3"], rows["came_back", "24+"]
    assert (new["technicians"], new["calls"], new["happened"]) == (2, 20, 6)
    assert new["expected"] == pytest.approx(20 * 8 / 43, rel=0.01)
    assert new["ratio"] == pytest.approx(6 / 3.72, rel=0.01)
    assert new["low"] < new["ratio"] < new["high"]
    assert (old["technicians"], old["calls"], old["happened"], old["low"]) == (1, 20, 2, None)
    # 35 of 43 were fixed on the first visit
    fixed = rows["fixed", "0-3"]
    assert (fixed["calls"], fixed["happened"]) == (20, 14)
    assert fixed["expected"] == pytest.approx(20 * 35 / 43, rel=0.01)
    # T4 had a call before the day of starting, T5 has none
    assert (found.calls, found.without_start, found.before_start, found.new) == (43, 2, 1, 2)
    assert set(rows) == {(what, band) for what in ("fixed", "came_back") for band in ("0-3", "24+")}


def test_example_of_the_docs() -> None:
    check_example()


def wrong_months(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(new_technicians, "EDGES", (0.5, 6.0, 12.0, 24.0))


def without_expectation(monkeypatch: pytest.MonkeyPatch) -> None:
    original = new_technicians._of
    monkeypatch.setattr(
        new_technicians,
        "_of",
        lambda what, calls: original(what, calls.with_columns(expected=calls["happened"].cast(float))),
    )


@pytest.mark.parametrize("broken", [wrong_months, without_expectation])
def test_wrong_definition_is_caught(
    broken: Callable[[pytest.MonkeyPatch], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    broken(monkeypatch)
    with pytest.raises((AssertionError, KeyError)):
        check_example()


def test_no_day_of_starting_is_no_curve() -> None:
    made = SmallFleet()
    made.call("A", technician_id="T1")
    made.ends("2026-06-01")
    found = made.build().fleet.new_technicians(Filters())
    assert found.curve.is_empty()
    assert (found.calls, found.without_start) == (1, 1)
    assert SmallFleet().build().fleet.new_technicians(Filters()).calls == 0
