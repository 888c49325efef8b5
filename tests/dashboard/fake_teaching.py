"""Stand-ins for teaching: three causes, drawn once, one of which technicians differ in."""

from datetime import datetime
from functools import cache

import numpy as np
import polars as pl

from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions.new_technicians import CURVE_SCHEMA, NewTechnicians
from analytics.questions.skill import MIX, Each, Skill, trouble
from analytics.questions.teaching import Teaching, teaching
from analytics.questions.teaching_habits import HABITS_SCHEMA
from analytics.questions.teaching_people import people, standing
from analytics.teaching_assumptions import TeachingAssumptions, TeachingRules
from tests.dashboard.fake_frames import LABELS, TECHNICIANS

RULES = TeachingRules.usual()
CALLS_EACH = 60


def _calls(seed: int, shares: np.ndarray) -> pl.DataFrame:
    rng = np.random.default_rng(seed)
    names = np.repeat(list(TECHNICIANS), CALLS_EACH)
    happened = rng.random(len(names)) < np.repeat(shares, CALLS_EACH)
    mix = {name: rng.integers(0, 3, len(names)) for name in MIX}
    return pl.DataFrame({"technician": names, "happened": happened, **mix})


@cache
def skill(loaded: bool) -> Skill:
    """Return what the plan stands on: a cause to teach, one that all do alike, one with few calls."""
    if not loaded:
        return Skill(None, None, 0.0, [], None, 0, 0, 0, frozenset())
    apart = np.where(np.arange(30) < 6, 0.45, 0.08)
    alike = np.full(30, 0.2)
    few = _calls(3, alike).head(40)
    return Skill(
        datetime(2023, 1, 1),
        datetime(2026, 1, 1),
        3.0,
        [
            trouble("thought", "inlet_valve_seeping", _calls(1, apart), RULES),
            trouble("held", "fill_tube_frozen", _calls(2, alike), RULES),
            trouble("held", "filter_restricted", few, RULES),
        ],
        Each(0.8, 0.7, 0.9, 400),
        4000,
        300,
        20,
        frozenset(TECHNICIANS),
    )


def curve() -> pl.DataFrame:
    rows = [
        (what, band, 6, 100, happened, expected, happened / expected, 0.9 * happened / expected, 1.2)
        for what, happened, expected in (("fixed", 60, 66.0), ("came_back", 14, 9.5))
        for band in ("0-3", "3-6")
    ]
    return pl.DataFrame(rows, schema=CURVE_SCHEMA, orient="row")


class FakeTeaching:
    """The methods of `FleetTeaching` over invented numbers."""

    total: int

    def teaching(self, filters: Filters, assumed: TeachingAssumptions | None = None) -> Teaching:
        chosen = assumed or TeachingAssumptions.usual()
        return teaching(skill(self.total > 0), standing, LABELS["causes"], chosen, RULES)

    def teaching_people(
        self, filters: Filters, what: str, cause: str, assumed: TeachingAssumptions | None = None
    ) -> pl.DataFrame:
        found = skill(self.total > 0)
        one = next((one for one in found.troubles if (one.what, one.cause) == (what, cause)), None)
        if one is None or one.spread is None:
            raise BadQuestion("Nothing can be said of that.")
        return people(found, one, standing(one), assumed or TeachingAssumptions.usual())

    def new_technicians(self, filters: Filters) -> NewTechnicians:
        if not self.total:
            return NewTechnicians(pl.DataFrame(schema=CURVE_SCHEMA), 0, 0, 0, 0)
        return NewTechnicians(curve(), 4000, 12, 3, 6)

    def teaching_habits(self, filters: Filters) -> pl.DataFrame:
        if not self.total:
            return pl.DataFrame(schema=HABITS_SCHEMA)
        known = dict.fromkeys(HABITS_SCHEMA) | {
            "habit": "proof_of_repair", "label": "proof of the repair", "calls": 800, "happened": 600,
            "technicians": 20, "left_out": 300, "rate": 0.75, "low": 0.72, "high": 0.78, "spread": 0.4,
            "spread_low": 0.2, "spread_high": 0.6, "p": 0.001, "p_adjusted": 0.001, "usual": 0.75,
            "best": 0.64,
            "avoided": 30.0, "avoided_low": 14.0, "avoided_high": 44.0, "standing": "differ",
        }  # fmt: skip
        few = dict.fromkeys(HABITS_SCHEMA) | {
            "habit": "valve_evidence", "label": "evidence for a valve", "calls": 3, "happened": 1,
            "technicians": 2, "left_out": 0, "rate": 1 / 3, "low": 0.06, "high": 0.79, "standing": "few",
        }  # fmt: skip
        return pl.DataFrame([known, few], schema=HABITS_SCHEMA)
