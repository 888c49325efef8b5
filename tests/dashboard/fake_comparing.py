"""Stand-ins for fair comparison: a few groups, one beyond chance, one with too few calls."""

from datetime import datetime

import polars as pl

from analytics.filters import Filters
from analytics.questions.comparison import FUNNEL_SCHEMA, GROUPS_SCHEMA, Comparison, check_question
from analytics.questions.worth_a_look import SCHEMA
from tests.dashboard.fake_frames import DEPOTS, TECHNICIANS


def groups(by: str, calls: int) -> pl.DataFrame:
    """Return the groups of a comparison; the first lies beyond chance, the last has few calls."""
    names = list((TECHNICIANS if by == "technician" else DEPOTS).items()) if calls else []
    rows = []
    for n, (code, label) in enumerate(names):
        size = 12 if n == len(names) - 1 else calls // (n + 2)
        expected = size * 0.08
        back = round(expected * (1.6 if n == 0 else 0.9 + 0.1 * n))
        ranked = size >= 20
        rows.append(
            {
                "group": code, "label": label, "calls": size, "came_back": back, "rate": back / size,
                "expected": expected, "ratio": back / expected, "low": 0.7 * back / expected,
                "high": 1.4 * back / expected, "assumes_independent": back < 10,
                "shrunk": 1 + 0.6 * (back / expected - 1) if ranked else None,
                "extra_returns": 0.6 * (back - expected) if ranked else None,
                "p": 0.001 if n == 0 else 0.4, "p_adjusted": (0.004 if n == 0 else 0.6) if ranked else None,
                "ranked": ranked, "differs": n == 0 and ranked,
                "odds_ratio": 1.7 if n == 0 else None, "odds_low": 1.2 if n == 0 else None,
                "odds_high": 2.3 if n == 0 else None,
            }
        )  # fmt: skip
    return pl.DataFrame(rows, schema=GROUPS_SCHEMA)


def comparison(by: str, period: str = "year", calls: int = 4480) -> Comparison:
    """Return a comparison of invented groups."""
    sizes = [20, 200, 2000]
    limits = {"calls": sizes, "low": [0.0, 0.05, 0.07], "high": [0.2, 0.12, 0.09],
              "lowest": [0.0, 0.03, 0.06], "highest": [0.3, 0.15, 0.1]}  # fmt: skip
    return Comparison(
        by,
        period,
        datetime(2025, 5, 29),
        datetime(2026, 5, 29, 17),
        calls,
        calls * 8 // 100,
        groups(by, calls),
        1.1,
        1.0,
        0.02,
        pl.DataFrame(limits, schema=FUNNEL_SCHEMA),
    )


class FakeComparing:
    """The methods of `FleetComparing` over invented numbers."""

    total: int

    def compared(self, filters: Filters, by: str, period: str = "year") -> Comparison:
        check_question(by, period)
        return comparison(by, period, self.total)

    def worth_a_look(self, filters: Filters | None = None) -> pl.DataFrame:
        found = comparison("depot", calls=self.total)
        said = {"by": found.by, "period": found.period, "since": found.since, "until": found.until}
        rows = found.groups.filter("differs")
        return rows.with_columns(
            [pl.lit(value, dtype=SCHEMA[name]).alias(name) for name, value in said.items()]
        ).select(SCHEMA.keys())
