"""Names of the invented company's depots."""

from functools import cache

import polars as pl

from synthetic_data.assumptions import load


@cache
def depot_names(count: int) -> pl.Series:
    """Names of so many depots: the sets after the first are numbered ("Marrowby 2")."""
    names = [name.capitalize() for name in load()["households"].under("depot")]
    return pl.Series(
        [
            names[at % len(names)] + ("" if at < len(names) else f" {at // len(names) + 1}")
            for at in range(count)
        ]
    )
