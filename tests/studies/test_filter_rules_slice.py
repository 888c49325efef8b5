"""A slice of the study of other rules of changing filters, and of its broken twin."""

from tests.studies.filter_rules import coverage

FLEETS = 60
LEAST = 0.85
"""With 60 fleets, three standard errors below the lowest coverage that the study takes."""


def test_intervals_hold() -> None:
    assert min(coverage(range(1, FLEETS + 1)).values()) >= LEAST


def test_first_weeks_taken_for_usual_days_are_caught() -> None:
    assert min(coverage(range(1, FLEETS + 1), broken=True).values()) < LEAST
