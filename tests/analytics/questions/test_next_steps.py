"""The next step: rules that hold together with the catalogue, and which of them is said."""

from datetime import date

import polars as pl
import pytest

from analytics.catalogue import ICE_AND_WATER, load_catalogue
from analytics.questions.next_steps import StepRule, next_steps, step_rules, stories

SCHEMA = {"unit_id": pl.String, "opened_on": pl.Date, "cause": pl.String}
LABELS = {
    "causes": {"fill_tube_frozen": "fill tube frozen"},
    "checks": {"pressure_static_flowing": "pressure, still and flowing"},
    "shutoff_valve": {"saddle": "saddle"},
    "supply_type": {},
}


def faults(rules: tuple[StepRule, ...]) -> list[str]:
    """Say what the rules name that the catalogue lacks."""
    catalogue = load_catalogue(ICE_AND_WATER)
    wrong = []
    for rule in rules:
        wrong += [f"{rule.code}: {each}" for each in rule.causes if each not in catalogue.causes]
        asked = (*rule.checks, *rule.never_checked)
        wrong += [f"{rule.code}: {each}" for each in asked if each not in catalogue.checks]
        for field, codes in (("shutoff_valve", rule.shutoff), ("supply_type", rule.supply)):
            wrong += [f"{rule.code}: {each}" for each in codes if each not in catalogue.levels[field]]
        if rule.times and not rule.months:
            wrong.append(f"{rule.code}: so often within no time")
        if not rule.checks:
            wrong.append(f"{rule.code}: nothing to check")
    codes = [rule.code for rule in rules]
    return wrong + [code for code in set(codes) if codes.count(code) > 1]


def test_rules_name_what_the_catalogue_has() -> None:
    assert faults(step_rules()) == []
    assert step_rules()[-1].times == 0, "the last rule fits any unit"


@pytest.mark.parametrize(
    "broken",
    [
        StepRule(code="x", step="", causes=("tube",), checks=("level",)),
        StepRule(code="x", step="", checks=("measure",)),
        StepRule(code="x", step="", shutoff=("tap",), checks=("level",)),
        StepRule(code="x", step="", times=2, checks=("level",)),
        StepRule(code="tube_saddle", step="", checks=("level",)),
    ],
)
def test_broken_rules_are_caught(broken: StepRule) -> None:
    assert faults((*step_rules(), broken))


def step(
    causes: list[tuple[str | None, str]], shutoff: str | None = None, checked: tuple[str, ...] = ()
) -> dict:
    units = pl.DataFrame(
        {"unit_id": ["U"], "shutoff_valve": [shutoff], "water_supply": [None]},
        schema={"unit_id": pl.String, "shutoff_valve": pl.String, "water_supply": pl.String},
    )
    rows = [("U", date.fromisoformat(day), cause) for cause, day in causes]
    calls = pl.DataFrame(rows, schema=SCHEMA, orient="row")
    made = pl.DataFrame(
        [("U", list(checked))] if checked else [],
        schema={"unit_id": pl.String, "checks": pl.List(pl.String)},
        orient="row",
    )
    found = next_steps(units, calls, made, step_rules()).row(0, named=True)
    facts = units.with_columns(rule=pl.lit(found["rule"]))
    told = stories(facts, calls, LABELS, step_rules())
    return found | {"story": told["story"].item()}


TUBE = "fill_tube_frozen"
THREE = [(TUBE, "2025-01-10"), (TUBE, "2025-08-10"), (TUBE, "2026-03-10")]


def test_third_frozen_tube_at_a_saddle_valve_with_pressure_never_measured() -> None:
    found = step([*THREE, (None, "2026-04-01")], "saddle")
    assert found["rule"] == "tube_saddle_pressure"
    assert (found["counted"], found["counted_months"], found["counted_causes"]) == (3, 14, [TUBE])
    assert "pressure" in found["step"]
    assert found["story"] == (
        "4 calls in 15 months: fill tube frozen (3), cause not recorded (1); saddle shutoff; "
        "never on record: pressure, still and flowing"
    )


@pytest.mark.parametrize(
    ("causes", "shutoff", "checked", "rule"),
    [
        (THREE, "saddle", ("pressure_static_flowing",), "tube_saddle"),
        (THREE, "quarter_turn", (), "tube_pressure"),
        (THREE, None, ("pressure_static_flowing",), "tube_seep"),
        (THREE, None, ("pressure_static_flowing", "valve_seep_test"), "tube_placement"),
        ([(TUBE, "2022-01-01"), (TUBE, "2026-01-01")], "saddle", (), "read_together"),
        (
            [(None, "2026-01-01"), (TUBE, "2026-01-02"), ("module_failed", "2026-02-01")],
            None,
            (),
            "read_together",
        ),
        ([("water_quality", "2026-01-01"), ("water_quality", "2026-01-02")], None, (), "same_again"),
        ([*THREE, *[("filter_restricted", f"2026-0{n}-01") for n in range(1, 6)]], None, (), "filter_again"),
    ],
)
def test_which_rule_is_said(
    causes: list[tuple[str | None, str]], shutoff: str | None, checked: tuple[str, ...], rule: str
) -> None:
    assert step(causes, shutoff, checked)["rule"] == rule
