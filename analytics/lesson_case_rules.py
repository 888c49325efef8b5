"""By which rules cases to teach with are picked, as data."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FILE = Path(__file__).with_name("catalogues") / "lesson_cases.toml"


@dataclass(frozen=True)
class CaseKind:
    """One kind of case: how many of it, its name for one and for several, and its rule in words."""

    cases: int
    label: str
    several: str
    says: str


@dataclass(frozen=True)
class CaseRules:
    """What the file holds; see its comments.

    Parameters
    ----------
    months, least, of_one_technician, answers : int
    sign_ratio, sign_share : float
    sign_strings : int
    kinds : mapping of str to CaseKind
        typical, missed, look_alike, in the order of teaching.
    """

    months: int
    least: int
    of_one_technician: int
    answers: int
    sign_ratio: float
    sign_share: float
    sign_strings: int
    kinds: Mapping[str, CaseKind]


@cache
def case_rules() -> CaseRules:
    """Read the file, once a process."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    kinds = {name: CaseKind(**kind) for name, kind in raw["kinds"].items()}
    signs = {f"sign_{name}": value for name, value in raw["sign"].items()}
    return CaseRules(**raw["all"], **signs, kinds=kinds)
