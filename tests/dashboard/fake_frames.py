"""Frames that the stand-in for the facade answers with."""

from datetime import date, datetime, timedelta
from typing import Any

import polars as pl
from statsmodels.stats.proportion import proportion_confint

from analytics.questions.ringing_again import WaitCurve
from analytics.rates import Rate

HOSTILE = "<script>window.hurt = 1</script>"
FORMULA = "=cmd()|' /C calc'!A0"
DEPOTS = {"north": "North", "south": "South", "harbour": "Harbour", "hills": "Hills"}
TECHNICIANS = {f"T{n:02d}": f"T{n:02d}" for n in range(1, 31)}
LABELS: dict[str, dict[str, str]] = {
    "families": {"ice_making": "ice making", "water_at_door": "water at the door", "leak": "leak"},
    "symptoms": {"no_ice": "no ice", "small_cubes": "small cubes", "leak_floor": "water on the floor"},
    "causes": {
        "fill_tube_frozen": "fill tube frozen",
        "inlet_valve_seeping": "inlet valve seeping",
        "filter_restricted": "filter restricted",
        "module_failed": "ice maker control failed",
        "no_fault_found": "no fault found",
    },
    "parts": {"inlet_valve": "inlet valve", "water_filter": "filter of the unit"},
    "checks": {"valve_coil_ohms": "resistance of each valve coil"},
    "product_families": {"side_by_side": "side by side", "bottom_freezer": "bottom freezer"},
}


def rate(numerator: int, denominator: int, inside_window: int = 0, **more: Any) -> Rate:
    if not denominator:
        return Rate(numerator, 0, None, None, None, inside_window, **more)
    numerator = min(numerator, denominator)
    low, high = proportion_confint(numerator, denominator, method="wilson")
    return Rate(numerator, denominator, numerator / denominator, low, high, inside_window, **more)


def month_frame(months: int = 30, strange: int = 17, young: int = 2) -> pl.DataFrame:
    """Months of about 150 calls at 7%; one month far outside, the last ones too young."""
    first = pl.date_range(date(2024, 1, 1), date(2030, 1, 1), "1mo", eager=True)[:months]
    denominators = [120 + 37 * n % 61 for n in range(months)]
    numerators = [round(d * (0.07 + 0.02 * ((n * 7) % 5 - 2) / 2)) for n, d in enumerate(denominators)]
    numerators[strange] = denominators[strange] // 6
    rows = []
    mean = sum(numerators) / sum(denominators)
    for n, (each, over, of) in enumerate(zip(first, numerators, denominators, strict=True)):
        inside = 0 if n < months - young else of if n == months - 1 else of // 3
        one = rate(over, 0 if n == months - 1 else of, inside)
        sigma = 3 * (mean * (1 - mean) / of) ** 0.5
        outside = None if inside else abs(over / of - mean) > sigma
        rows.append(
            (each, one.numerator, one.denominator, one.rate, one.low, one.high, inside)  # noqa: RUF005
            + (max(0.0, mean - sigma), mean + sigma, mean, outside)
        )
    names = "month numerator denominator rate low high inside_window limit_low limit_high mean outside"
    frame = pl.DataFrame(rows, schema=names.split(), orient="row")
    return frame.with_columns(in_run=pl.when(pl.col("outside").is_not_null()).then(pl.lit(False)))


def call_frame(rows: int, start: int = 0) -> pl.DataFrame:
    at = [datetime(2026, 6, 27, 15, 30) - timedelta(hours=7 * (n + start)) for n in range(rows)]
    causes = [*LABELS["causes"], None]
    return pl.DataFrame(
        {
            "call_id": [FORMULA if n + start == 0 else f"C{40000 - n - start}" for n in range(rows)],
            "unit_id": [f"U{1000 + (n + start) % 97}" for n in range(rows)],
            "opened_at": [each - timedelta(days=2, hours=3) for each in at],
            "opened_has_time": [True] * rows,
            "closed_at": pl.Series(
                [None if n % 17 == 16 else each for n, each in enumerate(at)], dtype=pl.Datetime
            ),
            "closed_has_time": [None if n % 17 == 16 else True for n in range(rows)],
            "standing": ["open" if n % 17 == 16 else "completed" for n in range(rows)],
            "job_kind": ["repair"] * rows,
            "depot": [list(DEPOTS)[n % 4] for n in range(rows)],
            "technician": [list(TECHNICIANS)[n % 30] for n in range(rows)],
            "symptoms": [["no_ice"] if n % 3 else ["small_cubes", "leak_floor"] for n in range(rows)],
            "cause": [causes[n % 4] for n in range(rows)],
            "outcome": ["repaired"] * rows,
            "product_family": ["side_by_side"] * rows,
            "visits": [1 + n % 2 for n in range(rows)],
            "parts": [["inlet_valve"] if n % 2 else [] for n in range(rows)],
            "filter_age_days": [120 + n for n in range(rows)],
            "came_back": [n % 9 == 0 for n in range(rows)],
            "is_callback": [n % 11 == 0 for n in range(rows)],
            "days_until_return": [float(3 + n % 25) if n % 9 == 0 else None for n in range(rows)],
        }
    )


def wait_curve(group: str | None, label: str, calls: int) -> WaitCurve:
    """A tenth come back within a hundred days, evenly; the year is not yet known of few calls."""
    days = [float(day) for day in range(1, 101)]
    share = [day / 1000 for day in days]
    points = pl.DataFrame({"days": days, "share": share})
    points = points.with_columns(low=0.8 * pl.col("share"), high=1.2 * pl.col("share"))
    known = {7: 0.007, 30: 0.03, 90: 0.09, 365: 0.1 if calls > 1000 else None}
    marks = [(day, s, s and 0.8 * s, s and 1.2 * s, day > 30) for day, s in known.items()]
    names = ["days", "share", "low", "high", "estimated"]
    return WaitCurve(
        group, label, calls, points.with_columns(at_risk=pl.lit(calls)), 365.0 if calls > 1000 else 200.0,
        pl.DataFrame(marks, schema=names, orient="row"),
    )  # fmt: skip
