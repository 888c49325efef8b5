"""How a person sorts returns by hand, as data: the codes and words, and which checks prove a repair."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FILE = Path(__file__).with_name("catalogues") / "hand_sorting.toml"


@dataclass(frozen=True)
class HandSorting:
    """What the file holds.

    Parameters
    ----------
    labels : dict of str to str
        Words by code, in the order in which they are offered.
    says : dict of str to str
        What each means, in a few words.
    proof_checks : tuple of str
        Codes of the checks that show that a repair works.
    """

    labels: dict[str, str]
    says: dict[str, str]
    proof_checks: tuple[str, ...]


@cache
def hand_sorting() -> HandSorting:
    """Read the file, once a process."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    sortings = raw["sortings"]
    return HandSorting(
        {code: each["label"] for code, each in sortings.items()},
        {code: each["says"] for code, each in sortings.items()},
        tuple(raw["proof"]["checks"]),
    )
