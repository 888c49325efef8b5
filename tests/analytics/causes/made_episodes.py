"""Episodes as sql/causes/training.sql gives them, made up: enough of their columns for each cause to be told."""

from datetime import datetime, timedelta

import numpy as np
import polars as pl

from analytics.causes.answers import ANSWERS, UNIT_FACTS

CODES = ("valve", "filter", "module", "drain")
SYMPTOMS = ("no_ice", "water_slow", "leak_floor")
BEGAN = datetime(2025, 1, 1)
QUANTITIES = (
    "filter_age_days",
    "filter_age_began_days",
    "unit_age_days",
    "problem_duration_days",
    "freezer_celsius",
)


def episodes(count: int = 600, seed: int = 1, told: float = 0.8) -> pl.DataFrame:
    """Return episodes, two a unit, opened one an hour; the mould tells the cause where it is not told at random."""
    random = np.random.default_rng(seed)
    cause = random.choice(len(CODES), count, p=[0.4, 0.3, 0.2, 0.1])
    mould = np.where(random.random(count) < told, cause, random.integers(0, len(CODES), count))
    symptom = np.where(random.random(count) < told, np.minimum(cause, 2), random.integers(0, 3, count))
    opened = [BEGAN + timedelta(hours=n) for n in range(count)]
    columns = {name: pl.Series([None] * count, dtype=pl.String) for name in (*ANSWERS, *UNIT_FACTS)}
    quantities = {name: pl.Series(random.integers(0, 900, count)) for name in QUANTITIES}
    return pl.DataFrame(
        {
            "call_id": [f"{n:06d}" for n in range(count)],
            "unit_hash": pl.Series(np.arange(count) // 2, dtype=pl.UInt64),
            "opened_at": opened,
            "learned_at": [at + timedelta(days=3) for at in opened],
            "symptoms": [[SYMPTOMS[n]] for n in symptom],
            "families": [[f"f{n}"] for n in symptom],
            "season": ["winter"] * count,
            "final_cause": [CODES[n] for n in cause],
            "confirmed": [True] * count,
        }
        | columns
        | quantities
        | {"mould_state": [("empty", "full", "hollow", "wet")[n] for n in mould]}
    )
