"""What a lesson is taken to cost and to bring, and the rules by which a cause is to be taught: as data."""

from dataclasses import dataclass

from analytics.assumptions import Assumptions


@dataclass(frozen=True)
class TeachingAssumptions(Assumptions):
    """What a lesson costs and brings; each field is described in teaching_assumptions.toml."""

    FILE = "teaching_assumptions.toml"

    lesson_minutes: float
    class_size: float
    gap_closed: float
    return_minutes: float

    @property
    def hours(self) -> float:
        """Hours that a return takes."""
        return self.return_minutes / 60


@dataclass(frozen=True)
class TeachingRules(Assumptions):
    """When a cause is to be taught; each field is described in teaching_rules.toml."""

    FILE = "teaching_rules.toml"

    least_calls: float
    least_technicians: float
    false_share: float
    least_hours: float
    small_spread: float
    common_hours: float
