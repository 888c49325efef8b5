"""A call at a time: each loaded from a file of its own."""

from pathlib import Path

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store

HEADER = "call_id,unit_id,opened_at,complaint,root_cause\n"


def load(store: Store, folder: Path, call: str) -> None:
    """Load one call, of a unit of its own."""
    file = folder / f"{call}.csv"
    file.write_text(f"{HEADER}{call},U{call},2026-03-01 09:00,no ice,\n", encoding="utf-8")
    load_files(store, [file], source="office")


def calls(fleet: Fleet) -> int:
    """Return how many calls a page counts."""
    return fleet.for_one_page().figures(Filters()).counts["calls"]
