"""What the classifier is told of a call: the columns of marts.intake, made into levels and quantities."""

from collections.abc import Mapping, Sequence

import polars as pl

from analytics.errors import BadQuestion

ANSWERS = (
    "mould_state",
    "dispenser_flow",
    "fill_tube_ice",
    "switch_on",
    "freezer_temperature",
    "filter_last_changed",
    "filter_kind",
    "problem_duration",
    "what_changed",
    "already_tried",
    "supply_type",
    "shutoff_valve",
    "where_it_stands",
)
"""Intake answers that hold levels, in the order in which they are asked."""
UNIT_FACTS = ("product_family", "ice_maker_kind")
"""Levels known from the list of units, not asked for."""
SEASON = "season"
QUANTITIES = (
    "filter_age_days",
    "filter_age_began_days",
    "unit_age_days",
    "problem_duration_days",
    "freezer_celsius",
)
COMPLAINT = "complaint"
"""The symptoms of a call as one level; with each of them a level of its own besides."""
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


TOLD_BY: Mapping[str, tuple[str, ...]] = {
    "filter_last_changed": ("filter_age_days", "filter_age_began_days"),
    "problem_duration": ("problem_duration_days",),
    "freezer_temperature": ("freezer_celsius",),
}
"""Quantities that go with an answer."""


def checked_answer(name: str) -> str:
    """Return the name of an answer, or say which there are.

    Raises
    ------
    BadQuestion
        When there is no such answer.
    """
    if name not in (*ANSWERS, COMPLAINT):
        raise BadQuestion(f"There is no answer '{name}'. Choose one of {', '.join((COMPLAINT, *ANSWERS))}.")
    return name
