"""The calls behind the numbers about wrong turns: rows of marts.calls, first calls of their strings."""

import polars as pl

from analytics.errors import BadQuestion
from analytics.questions.checks import ChosenRepairs
from analytics.questions.first_thoughts import FirstThoughts
from analytics.questions.wrong_turns import chosen_strings

KNOWN = pl.col("standing").is_not_null()
NEVER = pl.col("final_cause").is_null() & pl.col("first_thought").is_not_null()
_OF_THOUGHTS = {
    "thought_known": KNOWN,
    "thought_right": pl.col("standing") == "right",
    "thought_deeper": pl.col("standing") == "went_deeper",
    "thought_different": pl.col("standing") == "different",
    "thought_none_found": pl.col("standing") == "none_found",
    "thought_unknown": NEVER,
}
PARTS_SUBSET = "part_not_cause"
TURN_SUBSETS = frozenset({*_OF_THOUGHTS, PARTS_SUBSET, "thought_too_soon"})
BETWEEN = ":"
"""Stands between the first thought and the final cause of a turn; either may be ""."""


def turn(first_thought: str, final_cause: str = "") -> str:
    """Write a wrong turn as it narrows a subset."""
    return f"{first_thought}{BETWEEN}{final_cause}"


def rows_of(thoughts: FirstThoughts, here: ChosenRepairs, subset: str, only: str = "") -> list[int]:
    """Return the rows of a subset, in order.

    Parameters
    ----------
    thoughts, here
        As for `wrong_turns.wrong_turns`.
    subset : str
        One of `TURN_SUBSETS`.
    only : str
        Only this `turn`; of parts that were not the cause, only this part. "" for any.

    Raises
    ------
    BadQuestion
        When `only` is no turn.
    """
    if subset == "thought_too_soon":
        rows = thoughts.strings["row_id"]
        young = here.chosen[rows.to_numpy()] & ~here.settled[rows.to_numpy()]
        return rows.filter(pl.Series(young, dtype=pl.Boolean)).to_list()
    strings = chosen_strings(thoughts, here)
    if subset == PARTS_SUBSET:
        parts = thoughts.parts.filter(pl.col("part") == only) if only else thoughts.parts
        return strings.join(parts, on="row_id", how="semi", maintain_order="left")["row_id"].to_list()
    wanted = _OF_THOUGHTS[subset]
    if only:
        if only.count(BETWEEN) != 1:
            raise BadQuestion(f"'{only[:60]}' is no wrong turn. Write it as {turn('thought', 'cause')}.")
        for column, code in zip(("first_thought", "final_cause"), only.split(BETWEEN), strict=True):
            if code:
                wanted = wanted & (pl.col(column).cast(pl.String) == code)
    return strings.filter(wanted)["row_id"].to_list()
