"""What spoils first-time fix."""

from collections.abc import Mapping

import polars as pl

REASONS = {
    "came_back": "came back",
    "part": "second trip for a part",
    "diagnosis": "wrong first diagnosis",
    "no_access": "nobody home",
    "other": "another visit, reason not recorded",
}


def spoiled(counts: Mapping[str, int]) -> pl.DataFrame:
    """Answer `Fleet.spoiled` from the counts of sql/metrics/figures.sql."""
    subsets = [f"spoiled_{reason}" for reason in REASONS]
    first = [counts[subset] for subset in subsets]
    return pl.DataFrame(
        {
            "reason": list(REASONS),
            "label": list(REASONS.values()),
            "calls": first,
            # coming back is the first of the reasons, and "other" is none of them: they have no further calls
            "calls_any": [
                counts.get(f"{subset}_too", calls) for subset, calls in zip(subsets, first, strict=True)
            ],
            "subset": subsets,
        }
    )
