"""Facts of the trade as arrays: causes, symptoms, checks, parts, and how they hang together."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from synthetic_data.assumptions import Group, load
from synthetic_data.streams import Floats, Ints

SETUPS = ("F", "B", "U", "R")


@dataclass(frozen=True)
class Trade:
    """Code lists and the matrices between them; the position in a list is the number used in the arrays.

    Parameters
    ----------
    causes, symptoms, checks, parts, groups : tuple of str
        Codes. The last cause is no_fault_found; groups are groups of causes for which skill differs.
    family : Ints, shape (symptoms,)
        Family of each symptom; a symptom without a family stands alone.
    group : Ints, shape (causes,)
        Group of each cause.
    reveals : Floats, shape (checks, causes)
        Share of faults that the check shows.
    minutes, setup : shape (checks,)
        Minutes of the check, and the number of its set-up in SETUPS.
    mends : Floats, shape (parts, causes)
        1 where the part puts the cause right.
    on_van, cost, water_side : Floats, shape (parts,)
    fits : Floats, shape (causes, parts + 1)
        Share of repairs by part fitted; the last column is none.
    repair_minutes, holds : Floats, shape (causes,)
    thoughts : Floats, shape (symptoms, causes)
        What comes to mind for a symptom; rows sum to 1.
    shows : Floats, shape (causes, symptoms)
        What the household notices where it is not the fill.
    """

    causes: tuple[str, ...]
    symptoms: tuple[str, ...]
    checks: tuple[str, ...]
    parts: tuple[str, ...]
    groups: tuple[str, ...]
    family: Ints
    group: Ints
    reveals: Floats
    minutes: Floats
    setup: Ints
    mends: Floats
    on_van: Floats
    cost: Floats
    water_side: Floats
    fits: Floats
    repair_minutes: Floats
    holds: Floats
    thoughts: Floats
    shows: Floats

    def cause(self, code: str) -> int:
        """Number of a cause."""
        return self.causes.index(code)

    def symptom(self, code: str) -> int:
        """Number of a symptom."""
        return self.symptoms.index(code)

    def check(self, code: str) -> int:
        """Number of a check."""
        return self.checks.index(code)

    def part(self, code: str) -> int:
        """Number of a part."""
        return self.parts.index(code)

    def by_cause(self, shares: dict[str, float]) -> Floats:
        """Spread shares by cause over all causes; "others" is the share of the rest (0 when not given)."""
        values = np.full(len(self.causes), shares.get("others", 0.0), np.float32)
        for code, share in shares.items():
            if code in self.causes:
                values[self.cause(code)] = share
        return values

    def symptom_weights(self, shares: dict[str, float]) -> Floats:
        """Spread shares by symptom over all symptoms."""
        return _spread([shares], self.symptoms)[0]


def _spread(rows: list[dict[str, float]], codes: tuple[str, ...]) -> Floats:
    """Turn rows of {code: number} into a matrix with a column for each code."""
    matrix = np.zeros((len(rows), len(codes)), np.float32)
    for at, row in enumerate(rows):
        for code, number in row.items():
            matrix[at, codes.index(code)] = number
    return matrix


def _reveals(checks: Group, causes: tuple[str, ...]) -> Floats:
    shares = checks["revealed"]
    rows = [
        {code: shares[how] for how in ("well", "partly") for code in check[how]}
        for check in checks.under("check").values()
    ]
    return _spread(rows, causes)


@cache
def trade() -> Trade:
    """Read the code lists and matrices from the assumptions."""
    groups = load()
    symptoms, checks, parts = groups["symptoms"], groups["checks"], groups["parts"]
    repairs, part, check = parts.under("repair"), parts.under("part"), checks.under("check")
    causes, part_codes = tuple(repairs), tuple(part)
    families = symptoms.under("family")
    symptom_codes = tuple(code for codes in families.values() for code in codes)
    family_of = {code: at for at, codes in enumerate(families.values()) for code in codes}
    skill = groups["technicians"].under("group")
    group_of = {code: at for at, codes in enumerate(skill.values()) for code in codes}
    thoughts = _spread([symptoms[f"first_thoughts.{code}"] for code in symptom_codes], causes)
    shows = symptoms.under("shows")
    return Trade(
        causes=causes,
        symptoms=symptom_codes,
        checks=tuple(check),
        parts=part_codes,
        groups=tuple(skill),
        family=np.array([family_of[code] for code in symptom_codes]),
        group=np.array([group_of[code] for code in causes]),
        reveals=_reveals(checks, causes),
        minutes=np.array([one["minutes"] for one in check.values()], np.float32),
        setup=np.array([SETUPS.index(one["setup"]) for one in check.values()]),
        mends=_spread([dict.fromkeys(one["mends"], 1.0) for one in part.values()], causes),
        on_van=np.array([one["on_van"] for one in part.values()], np.float32),
        cost=np.array([one["cost"] for one in part.values()], np.float32),
        water_side=np.array([one["water_side"] for one in part.values()], np.float32),
        fits=_spread([one["fits"] for one in repairs.values()], (*part_codes, "none")),
        repair_minutes=np.array([one["minutes"] for one in repairs.values()], np.float32),
        holds=np.array([one["holds"] for one in repairs.values()], np.float32),
        thoughts=thoughts / thoughts.sum(axis=1, keepdims=True),
        shows=_spread([shows.get(code, {}) for code in causes], symptom_codes),
    )
