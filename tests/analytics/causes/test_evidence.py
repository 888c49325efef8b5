"""Facts of checks by hand: what was counted, pulled towards what the catalogue says."""

import json
from datetime import datetime
from types import SimpleNamespace
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics.catalogue import load_catalogue
from analytics.causes import evidence as module
from analytics.causes.evidence import COUNTS, Evidence, evidence, facts_kept, facts_of
from analytics.causes.facts import CheckFacts
from analytics.fleet import Fleet
from tests.analytics.small_fleet import SmallFleet

CODES = ("a", "b", "c")
Counted = tuple[str, str, int, int, float, int]


def catalogue() -> Any:
    """A look that shows a in eight times of ten, a test that shows b in nine, and a proof of repair."""

    def check(
        code: str,
        minutes: float,
        setup: str,
        setup_or: str | None = None,
        beside: float = 0.0,
        **reveals: float,
    ):
        return SimpleNamespace(
            code=code, minutes=minutes, setup=setup, setup_or=setup_or, beside_minutes=beside, reveals=reveals
        )  # fmt: skip

    checks = [check("look", 5, "front", a=0.8), check("test", 10, "kick", "back", 4.0, b=0.9),
              check("proof_of_repair", 3, "front")]  # fmt: skip
    setups = {"front": 0.0, "kick": 4.0, "back": 8.0}
    return SimpleNamespace(
        checks={each.code: each for each in checks},
        setups={code: SimpleNamespace(minutes=minutes) for code, minutes in setups.items()},
    )


def facts(*rows: Counted, visit: float = 60.0) -> CheckFacts:
    return facts_of(Evidence(pl.DataFrame(rows, schema=COUNTS, orient="row"), visit), catalogue(), CODES)


def test_no_data_gives_the_catalogue() -> None:
    found = facts(visit=75.0)
    assert found.codes == ("look", "test")  # a proof of repair shows nothing
    assert found.causes == CODES
    assert found.minutes.tolist() == [5, 10]
    assert found.beside_minutes.tolist() == [0, 4]
    assert found.setups == (("front",), ("kick", "back"))
    assert found.setup_minutes == {"front": 0, "kick": 4, "back": 8}
    assert found.second_visit_minutes == 75
    assert found.false_findings == pytest.approx([0.02, 0.02])
    # a finding is the check's own or a false one: together what the catalogue says
    either = 1 - (1 - found.reveals) * (1 - found.false_findings[:, None])
    assert either == pytest.approx(np.array([[0.8, 0.02, 0.02], [0.02, 0.9, 0.02]]))


def check_by_hand() -> None:
    """The look: made 80, 100 and 60 times by cause, found 50, 4 and 6.

    False: (4 + 6 + 20 * 0.02) of (100 + 60 + 20). Of a: (50 + 20 * 0.8) of 100. Of c, which the catalogue
    does not name: (6 + 20 false) of 80, hardly more than the false ones, so nothing. 480 minutes of 80
    times, with 20 times 5.
    """
    found = facts(
        ("look", "a", 80, 50, 300.0, 50), ("look", "b", 100, 4, 180.0, 30), ("look", "c", 60, 6, 0.0, 0),
        ("look", "gone", 500, 500, 0.0, 0), ("proof_of_repair", "a", 9, 9, 9.0, 9),
    )  # fmt: skip
    false = 10.4 / 180
    assert found.false_findings == pytest.approx([false, 0.02])
    assert found.reveals[0] == pytest.approx([(0.66 - false) / (1 - false), 0, 0])
    assert found.minutes == pytest.approx([5.8, 10])


def test_by_hand() -> None:
    check_by_hand()


def check_far_more_than_false() -> None:
    """40 of 60 of c: then c is shown too, and false findings are counted anew without it: 4.4 of 120."""
    found = facts(("look", "a", 80, 50, 0, 0), ("look", "b", 100, 4, 0, 0), ("look", "c", 60, 40, 0, 0))
    false = 4.4 / 120
    assert found.false_findings[0] == pytest.approx(false)
    share = (40 + 20 * false) / 80
    assert found.reveals[0] == pytest.approx([(0.66 - false) / (1 - false), 0, (share - false) / (1 - false)])


def test_a_cause_that_is_not_named_counts_where_it_was_found_far_more_often() -> None:
    check_far_more_than_false()


@pytest.mark.parametrize(("found", "counts"), [(11, False), (14, True)])
def test_from_a_stated_excess(found: int, counts: bool) -> None:
    """Of 60 of c, beside 4 of 100: 11 are an excess below 0.1, 14 one above it."""
    made = facts(("look", "b", 100, 4, 0, 0), ("look", "c", 60, found, 0, 0))
    assert bool(made.reveals[0, 2] > 0) is counts
    assert made.reveals[0, 2] == 0 or made.reveals[0, 2] >= module.LEAST_EXCESS


@pytest.mark.parametrize(
    ("name", "value"),
    [("CATALOGUE_CHECKS", 1), ("FALSE_FINDINGS", 0.2), ("LEAST_EXCESS", 0.01), ("CATALOGUE_TIMES", 1)],
)
def test_other_conventions_are_caught(name: str, value: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, name, value)
    with pytest.raises(AssertionError):
        check_by_hand()


def test_never_looking_beyond_the_catalogue_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "LEAST_EXCESS", 2.0)
    with pytest.raises(AssertionError):
        check_far_more_than_false()


def test_it_goes_through_json() -> None:
    rows = [("look", "a", 80, 50, 300.0, 50), ("look", "b", 1, 0, 0.0, 0), ("test", "a", 2, 1, 3.5, 1)]
    found = Evidence(pl.DataFrame(rows, schema=COUNTS, orient="row"), 61.5)
    plain = json.loads(json.dumps(found.to_dict()))
    assert plain["made"] == {"look": 81, "test": 2}
    again = Evidence.of_dict(plain)
    assert again.rows.equals(found.rows)
    assert again.second_visit_minutes == 61.5


def checked() -> SmallFleet:
    """A came back as A2; B is later; C has no known cause. Visits of 40 and 20 minutes, two without end."""
    fleet = SmallFleet()

    def repair(name: str, unit: str, day: str, cause: str | None, left: str | None) -> None:
        fleet.call(name, unit, opened=f"{day} 09:00", root_cause=cause)
        fleet.visit(f"V{name}", name, arrived=f"{day} 09:30", left=left and f"{day} {left}")

    repair("A", "U1", "2026-01-01", "tube_frozen", "10:10")
    repair("A2", "U1", "2026-01-11", "valve_seeping", "09:50")
    repair("B", "U2", "2026-02-01", "valve_seeping", None)
    repair("C", "U3", "2026-01-01", "? eh", None)
    fleet.check("tube_look", "fault", visit_id="VA", minutes=3)
    fleet.check("seep_test", "fault", visit_id="VA2", minutes=4)
    fleet.check("seep_test", "no_fault", visit_id="VB", minutes=None)
    fleet.check("seep_test", "? eh", call_id="B", minutes=6)
    fleet.check("seep_test", "fault", visit_id="VC", minutes=5)
    fleet.ends("2026-06-01")
    return fleet.build()


def test_what_is_counted() -> None:
    fleet = checked()
    found = evidence(fleet.fleet._read())
    assert found.rows.rows() == [
        ("seep_test", "valve_seeping", 3, 1, 10.0, 2),
        ("tube_look", "valve_seeping", 1, 1, 3.0, 1),  # by what it turned out to be in the end
    ]
    assert found.second_visit_minutes == 30 + 30  # mean minutes on site, and the way there
    early = evidence(fleet.fleet._read(), datetime(2026, 2, 20))
    assert early.rows.rows() == [
        ("seep_test", "valve_seeping", 1, 1, 4.0, 1), ("tube_look", "valve_seeping", 1, 1, 3.0, 1),
    ]  # fmt: skip
    nothing = evidence(fleet.fleet._read(), datetime(2026, 1, 20))
    assert nothing.rows.height == 0


def test_no_visit_with_an_end_is_45_minutes() -> None:
    fleet = SmallFleet()
    fleet.call("A")
    fleet.ends("2026-06-01")
    assert evidence(fleet.build().fleet._read()).second_visit_minutes == 75


def test_what_is_kept_with_a_model(fitted_fleet: Fleet) -> None:
    catalogue, kept = load_catalogue(), fitted_fleet.model()
    facts, parts = facts_kept(catalogue, kept)
    assert facts.causes == parts.causes == kept.model.codes
    assert set(facts.codes) == set(catalogue.checks) - {"proof_of_repair"}
    assert set(parts.codes) == set(catalogue.parts)
    costs = kept.about["part_costs"]
    known = {code for code, cost in zip(parts.codes, parts.costs, strict=True) if not np.isnan(cost)}
    assert known == set(costs) & set(parts.codes)
    assert "switched_off" in parts.without_part
    assert "inlet_valve_open_coil" not in parts.without_part
