"""The choices that every figure is asked with: window, match, as of when, and which calls."""

from dataclasses import dataclass, replace
from datetime import date

from analytics.errors import BadQuestion

WINDOWS_DAYS = (7, 14, 30, 60, 90)
MATCHES = ("family", "any")
CHOSEN_BY = {
    "technician": "technicians",
    "depot": "depots",
    "symptom": "symptoms",
    "cause": "causes",
    "part": "parts",
    "product_family": "product_families",
}
"""Which field of `Filters` narrows calls to a group of a grouping; months have their days instead."""
COMPARED = ("technician", "depot", "part", "product_family")
"""By what groups are compared with each other, each against what its work would lead one to expect."""
GROUPINGS = ("technician", "depot", "symptom", "cause", "part", "product_family", "month")


@dataclass(frozen=True)
class Filters:
    """Which calls a figure is about, and what counts as a callback.

    Parameters
    ----------
    window_days : int
        Callback window in days, one of `WINDOWS_DAYS`.
    match : str
        "family": a return counts for the same symptom family; "any": for any symptom.
    as_of : date, optional
        Look at the fleet as at the end of this day; None: as at the end of observation.
    closed_from, closed_to : date, optional
        First and last day of closing, both included.
    depots, families, symptoms, causes, technicians, product_families, parts : tuple of str
        Codes or ids; empty means all, and "" in it what is blank, none or not recognised.
    """

    window_days: int = 30
    match: str = "family"
    as_of: date | None = None
    closed_from: date | None = None
    closed_to: date | None = None
    depots: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    technicians: tuple[str, ...] = ()
    product_families: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.window_days not in WINDOWS_DAYS:
            raise BadQuestion(
                f"A window of {self.window_days} days is not kept. Choose one of "
                f"{', '.join(map(str, WINDOWS_DAYS))}."
            )
        if self.match not in MATCHES:
            raise BadQuestion(
                f"'{self.match}' is no way to match a return. Choose one of {', '.join(MATCHES)}."
            )

    def but(self, **changes: object) -> "Filters":
        """Return the same choices with some of them changed."""
        return replace(self, **changes)  # type: ignore[arg-type]
