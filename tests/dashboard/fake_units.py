"""Stand-ins for units that ring again and again: the first beyond chance, the others not."""

from datetime import date

import polars as pl

from analytics.questions.repeat_units import GROUPED, CallCourse, RepeatUnits
from tests.dashboard.fake_frames import HOSTILE

LISTED = 23


def course(group: str | None, label: str, units: int, rate: float = 0.7) -> CallCourse:
    """Calls come evenly; from year 10 on too few units were watched."""
    years = [n / 4 for n in range(37)]
    points = pl.DataFrame({"years": years, "at_risk": [units] * 37, "mean": [rate * year for year in years]})
    points = points.with_columns(low=0.9 * pl.col("mean"), high=1.1 * pl.col("mean"))
    marks = pl.DataFrame({"years": [1.0, 2.0, 5.0, 10.0]}).join(points, on="years", how="left")
    return CallCourse(group, label, units, round(rate * 9 * units), 0.0, 9.0, points, marks)


def listed(rows: range) -> pl.DataFrame:
    """Return some of the units."""
    n = len(rows)
    calls = [40 - at for at in rows]
    frame = pl.DataFrame(
        {
            "unit_id": [f"U{1000 + at}" for at in rows],
            "installed_on": [date(2019, 5, 1)] * n,
            "watched_from": [date(2021, 11, 1)] * n,
            "watched_to": [date(2026, 6, 28)] * n,
            "product_family": ["side_by_side"] * n,
            "water_supply": ["well"] * n,
            "shutoff_valve": ["saddle"] * n,
            "calls": calls,
            "years": [4.7] * n,
            "expected": [3.2] * n,
            "p": [1e-9 * 10 ** (at / 3) for at in rows],
            "p_adjusted": [0.001 if not at else 0.4 for at in rows],
            "beyond": [not at for at in rows],
            "ratio": [each / 3.2 for each in calls],
            "shrunk": [each / 6 for each in calls],
            "story": [f"{each} calls in 30 months: fill tube frozen (9); {HOSTILE}" for each in calls],
            "rule": ["tube_saddle_pressure"] * n,
            "step": ["Measure household pressure before another fill tube."] * n,
            "checks": [["pressure_static_flowing"]] * n,
            "counted": [9] * n,
            "counted_months": [14] * n,
            "counted_causes": [["fill_tube_frozen"]] * n,
            "cautions": [["b"]] * n,
        }
    )
    return frame if n else frame.clear()


class FakeUnits:
    """The methods of `FleetUnits` over invented numbers."""

    total: int
    beyond = 1

    def repeat_units(self) -> RepeatUnits:
        groups = [course("side_by_side", "side_by_side", 700, 0.8), course("built_in", "built in", 300)]
        whole = course(None, "all units", 1000 if self.total else 0)
        return RepeatUnits(
            units=1000, calls=self.total, years=4700.0, calls_outside=12, undated=40, by_age=True,
            dispersion=0.42, expected=float(self.total), beyond=self.beyond, whole=whole,
            groups={by: [*groups, course(None, "not recorded", 50)] for by in GROUPED},
            ranked=listed(range(LISTED)),
        )  # fmt: skip

    def repeat_unit_list(self, offset: int = 0, limit: int = 50) -> tuple[pl.DataFrame, int]:
        return listed(range(offset, max(offset, min(offset + limit, LISTED)))), LISTED
