"""What the classifier is told of a call: the columns of marts.intake, made into levels and quantities."""

from collections.abc import Sequence

import polars as pl

from analytics.causes.answers import ANSWERS, COMPLAINT, TOLD_BY, UNIT_FACTS

SEASON = "season"
QUANTITIES = (
    "filter_age_days",
    "filter_age_began_days",
    "unit_age_days",
    "problem_duration_days",
    "freezer_celsius",
)
SYMPTOM = "symptom:"
SEVERAL_SYMPTOMS = "+"


def as_features(intake: pl.DataFrame, symptoms: Sequence[str]) -> pl.DataFrame:
    """Make rows of marts.intake into what the classifier takes.

    Parameters
    ----------
    intake : DataFrame
        Columns as in marts.intake; more are left out.
    symptoms : sequence of str
        Codes of the catalogue, in its order.

    Returns
    -------
    DataFrame
        Levels (Categorical, null where not known; symptoms 1 or 0) and quantities (Float64), in a fixed
        order.
    """
    named = pl.col("symptoms").list.sort().list.join(SEVERAL_SYMPTOMS)
    level = pl.Categorical
    return intake.select(
        pl.when(named != "").then(named).cast(level).alias(COMPLAINT),
        *(
            pl.col("symptoms").list.contains(code).fill_null(False).cast(pl.Int8).alias(SYMPTOM + code)
            for code in symptoms
        ),
        *(pl.col(name).cast(level) for name in (*ANSWERS, *UNIT_FACTS, SEASON)),
        *(pl.col(name).cast(pl.Float64) for name in QUANTITIES),
    )


def withheld(features: pl.DataFrame, answer: str) -> pl.DataFrame:
    """Return features as they would be had an answer not been given, quantities told by it included."""
    blank = [pl.lit(None, features.schema[name]).alias(name) for name in (answer, *TOLD_BY.get(answer, ()))]
    if answer == COMPLAINT:
        blank += [pl.lit(0, pl.Int8).alias(name) for name in features.columns if name.startswith(SYMPTOM)]
    return features.with_columns(blank)
