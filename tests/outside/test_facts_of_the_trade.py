"""What every technician knows must hold in a model fitted to a fleet: common practice, no source.

Each fact is asked on the same calls with one set of answers and with another, all else left as it was.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics import queries
from analytics.catalogue import Catalogue, load_catalogue
from analytics.causes.evidence import facts_kept
from analytics.causes.facts import CheckFacts
from analytics.causes.findings import after_finding
from analytics.causes.model import CauseModel
from tests.outside.generated_fleet import fitted_fleet

WATER_FILL = {
    "shutoff_closed", "saddle_valve_clogged", "low_supply_pressure", "supply_line_fault", "filter_restricted",
    "inlet_screen_plugged", "inlet_valve_open_coil", "inlet_valve_sticks", "inlet_valve_seeping",
    "fill_tube_cold", "fill_tube_frozen", "outlet_tubing_fault", "board_no_fill_signal",
}  # fmt: skip
"""Causes that lie on the way of the water into the mould."""
CALLS = 300
MOST_CALLS = 0.95
"""Share of the calls on which a fact must hold; on average it must hold too."""
MONTH = 30.4375
COIL = "valve_coil_ohms"

Answers = Mapping[str, Any]


@dataclass(frozen=True)
class Trade:
    """A fitted model, calls to ask it about, and facts of checks."""

    model: CauseModel
    calls: pl.DataFrame
    checks: CheckFacts


@pytest.fixture(scope="module")
def trade(tmp_path_factory: pytest.TempPathFactory) -> Trade:
    fleet = fitted_fleet(tmp_path_factory)
    kept = fleet.model()
    assert kept is not None
    intake = queries.frame(fleet.for_one_page()._read().cursor, "causes/intake", {"call_ids": []})
    return Trade(kept.model, intake, facts_kept(load_catalogue(), kept)[0])


def told(calls: pl.DataFrame, answers: Answers) -> pl.DataFrame:
    return calls.with_columns(
        pl.lit(value, calls.schema[name]).alias(name) for name, value in answers.items()
    )


def raises(trade: Trade, fact: "Fact") -> None:
    """Answers must make the causes likelier than other answers do, together."""
    columns = [code in fact.causes for code in trade.model.codes]
    assert sum(columns) == len(fact.causes)
    for complaint in fact.complaints:
        calls = trade.calls.filter(pl.col("symptoms").list.contains(complaint)).sample(CALLS, seed=1)
        now, before = (
            trade.model.chances(told(calls, answers))[:, columns].sum(axis=1)
            for answers in (fact.given, fact.against)
        )
        assert now.mean() > before.mean(), complaint
        assert (now > before).mean() >= MOST_CALLS, (complaint, (now > before).mean())


@dataclass(frozen=True)
class Fact:
    """Causes that answers raise against other answers, on calls with complaints that the answers go with."""

    causes: set[str]
    given: Answers
    against: Answers
    complaints: tuple[str, ...]


def filter_of(months: float) -> Answers:
    return {
        "filter_kind": "in_unit", "filter_last_changed": "months", "filter_age_days": round(months * MONTH),
        "filter_age_began_days": None,
    }  # fmt: skip


NOT_ASKED = {"mould_state": None}
HEALTHY_FILL = {"mould_state": "normal_full", "dispenser_flow": "normal", "fill_tube_ice": "no"}
ILL_FILL = {"mould_state": "empty", "dispenser_flow": "slow", "fill_tube_ice": "yes"}
FACTS = {
    "an empty mould raises the causes of water fill": Fact(
        WATER_FILL, {"mould_state": "empty"}, NOT_ASKED, ("no_ice", "little_ice")
    ),
    "tiny cubes raise the causes of water fill": Fact(
        WATER_FILL, {"mould_state": "small_cubes"}, NOT_ASKED, ("little_ice", "small_cubes")
    ),
    "an overdue filter raises restriction": Fact(
        {"filter_restricted"}, filter_of(14), filter_of(1), ("no_ice", "little_ice", "small_cubes")
    ),
    "a healthy fill and no frost raise the control": Fact(
        {"module_failed"}, HEALTHY_FILL, ILL_FILL, ("no_ice", "little_ice")
    ),
}
SWAPPED: Mapping[str, Mapping[Any, Any]] = {
    "mould_state": {"empty": "normal_full", "small_cubes": "normal_full", "normal_full": "empty"},
    "dispenser_flow": {"normal": "slow", "slow": "normal"},
    "fill_tube_ice": {"yes": "no", "no": "yes"},
    "filter_age_days": {round(14 * MONTH): round(MONTH), round(MONTH): round(14 * MONTH)},
}


@pytest.mark.parametrize("fact", FACTS)
def test_fact_holds(trade: Trade, fact: str) -> None:
    raises(trade, FACTS[fact])


@pytest.mark.parametrize("fact", FACTS)
def test_answers_with_their_labels_swapped_are_caught(
    trade: Trade, fact: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = told

    def swapped(calls: pl.DataFrame, answers: Answers) -> pl.DataFrame:
        return sound(calls, {name: SWAPPED.get(name, {}).get(said, said) for name, said in answers.items()})

    monkeypatch.setitem(globals(), "told", swapped)
    with pytest.raises(AssertionError):
        raises(trade, FACTS[fact])


def healthy(catalogue: Catalogue, ohm: float) -> bool:
    """Whether a coil is a good one by the catalogue; an open one reads as infinite."""
    limit = catalogue.limits["valve_coil"]
    assert limit.low is not None
    assert limit.high is not None
    return (
        catalogue.convert(limit.low, limit.unit, "ohm")
        <= ohm
        <= catalogue.convert(limit.high, limit.unit, "ohm")
    )


def coil_outside_200_to_500_ohm_is_condemned(catalogue: Catalogue) -> None:
    for ohm in (200, 260, 350, 500):
        assert healthy(catalogue, ohm), ohm
    for ohm in (0, 22, 190, 199, 501, 1250, float("inf")):
        assert not healthy(catalogue, ohm), ohm
    limit = catalogue.limits["valve_coil"]
    assert limit.check == COIL
    assert limit.stop is None, "nothing outside is doubtful"
    assert "condemned" in limit.says
    shown = catalogue.checks[COIL].reveals
    assert max(shown, key=lambda code: shown[code]) == "inlet_valve_open_coil"
    answers = [code for code, part in catalogue.parts.items() if "inlet_valve_open_coil" in part.answers]
    assert answers == ["inlet_valve"]


def test_coil_outside_200_to_500_ohm_is_condemned() -> None:
    coil_outside_200_to_500_ohm_is_condemned(load_catalogue())


@pytest.mark.parametrize(
    "wrong", [{"low": 150.0}, {"high": 1500.0}, {"low": 0.2, "high": 0.5}, {"unit": "kohm"}, {"check": None}]
)
def test_other_limits_of_a_coil_are_caught(wrong: dict[str, Any]) -> None:
    catalogue = load_catalogue()
    limits = {**catalogue.limits, "valve_coil": replace(catalogue.limits["valve_coil"], **wrong)}
    with pytest.raises(AssertionError):
        coil_outside_200_to_500_ohm_is_condemned(replace(catalogue, limits=limits))


def coil_found_bad_condemns_the_valve_and_a_good_one_does_not_clear_it(checks: CheckFacts) -> None:
    even = np.full(len(checks.causes), 1 / len(checks.causes))
    coil, sticks = (checks.causes.index(code) for code in ("inlet_valve_open_coil", "inlet_valve_sticks"))
    bad, good = (after_finding(checks, even, COIL, finding) for finding in ("fault", "no_fault"))
    assert bad.argmax() == coil
    assert bad[coil] > 0.5
    assert good[coil] < even[coil] / 3
    assert good[sticks] >= even[sticks], "a good coil is not yet a good valve"


def test_coil_found_bad_condemns_the_valve_and_a_good_one_does_not_clear_it(trade: Trade) -> None:
    coil_found_bad_condemns_the_valve_and_a_good_one_does_not_clear_it(trade.checks)


def test_a_check_that_shows_nothing_or_everything_is_caught(trade: Trade) -> None:
    for shown in (0.0, 0.9):
        reveals = np.array(trade.checks.reveals)
        reveals[trade.checks.codes.index(COIL)] = shown
        with pytest.raises(AssertionError):
            coil_found_bad_condemns_the_valve_and_a_good_one_does_not_clear_it(
                replace(trade.checks, reveals=reveals)
            )
