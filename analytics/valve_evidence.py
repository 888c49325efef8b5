"""Which parts are valves, and which checks are evidence for fitting one, as data."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FILE = Path(__file__).with_name("catalogues") / "valve_evidence.toml"


@dataclass(frozen=True)
class ValveEvidence:
    """What the file holds.

    Parameters
    ----------
    parts : tuple of str
        Codes of the parts that are valves.
    checks : tuple of str
        Codes of the checks of which one at least is evidence, whatever it found.
    """

    parts: tuple[str, ...]
    checks: tuple[str, ...]


@cache
def valve_evidence() -> ValveEvidence:
    """Read the file, once a process."""
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    checks = [code for codes in raw["evidence"].values() for code in codes]
    return ValveEvidence(tuple(raw["valves"]["parts"]), tuple(checks))
