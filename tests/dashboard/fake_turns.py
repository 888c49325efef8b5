"""Stand-in for wrong turns: a few first thoughts over invented numbers."""

import polars as pl

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import Filters
from analytics.questions.habits import FARED_SCHEMA, HABITS_SCHEMA, Habits
from analytics.questions.wrong_turns import CELLS_SCHEMA, PARTS_SCHEMA, WrongTurns
from analytics.statistics.agreement import Agreement
from tests.dashboard.fake_frames import rate

CAUSES = {
    "module_failed": "ice maker control failed",
    "fill_tube_frozen": "fill tube frozen",
    "inlet_valve_seeping": "inlet valve seeping",
    "no_fault_found": "no fault found",
}
CELLS = (
    ("module_failed", "fill_tube_frozen", "different", 0.04),
    ("module_failed", "inlet_valve_seeping", "different", 0.01),
    ("fill_tube_frozen", "inlet_valve_seeping", "went_deeper", 0.02),
    ("no_fault_found", "fill_tube_frozen", "none_found", 0.01),
    ("module_failed", "module_failed", "right", 0.4),
    ("fill_tube_frozen", "fill_tube_frozen", "right", 0.5),
)


def cells_of(calls: int, hour_price: float) -> pl.DataFrame:
    counts = [(first, final, standing, int(calls * share)) for first, final, standing, share in CELLS]
    rows = []
    for first, final, standing, n in counts:
        if not n:
            continue
        of = sum(count for other, _, _, count in counts if other == first)
        share, wrong = rate(n, of), standing != "right"
        money = n * (60.0 + 1.5 * hour_price) if wrong else n * 20.0
        known = wrong and n >= 5
        rows.append(
            (
                first, CAUSES[first], final, CAUSES[final], standing, n, of,
                share.rate, share.low, share.high,
                n if wrong else 0, n * 3 // 2 if wrong else n // 5, n * 60.0, 1 if wrong else 0,
                n / 2 if wrong else 0.0, n * 30.0 if wrong else 0.0, 0.0, money,
                money * 0.8 if known else None, money * 1.3 if known else None,
            )
        )  # fmt: skip
    frame = pl.DataFrame(rows, schema=CELLS_SCHEMA, orient="row")
    return frame.sort(pl.col("money").neg(), "first_label")


def firsts_of(matrix: pl.DataFrame, calls: int) -> pl.DataFrame:
    rows = []
    for (first,), cells in matrix.group_by("first_thought", maintain_order=True):
        of = int(cells["calls"].sum())
        row = {
            "first_thought": first,
            "first_label": CAUSES[str(first)],
            "names_cause": first != "no_fault_found",
        }
        row |= {"calls": of, "unknown": calls // 100}
        for standing in ("right", "went_deeper", "different", "none_found"):
            share = rate(int(cells.filter(pl.col("standing") == standing)["calls"].sum()), of)
            row |= {standing: share.numerator, f"{standing}_rate": share.rate}
            row |= {f"{standing}_low": share.low, f"{standing}_high": share.high}
        rows.append(row)
    return pl.DataFrame(rows).sort("different", descending=True) if rows else pl.DataFrame()


class FakeTurns:
    """The methods of `FleetWrongTurns` over invented numbers."""

    total: int
    diagnoses_recorded = True

    def habit_labels(self) -> dict[str, str]:
        return {code: label for code, (label, *_) in HABITS.items()}

    def habits(self, filters: Filters) -> Habits:
        calls = self.total if not filters.depots else self.total * len(filters.depots) // 5
        return habits_of(calls)

    def wrong_turns(self, filters: Filters, assumed: CostAssumptions | None = None) -> WrongTurns:
        calls = self.total if not filters.depots else self.total * len(filters.depots) // 5
        prices = assumed or CostAssumptions.usual()
        matrix = cells_of(calls if self.diagnoses_recorded else 0, prices.hour_price)
        known = int(matrix["calls"].sum())

        def share(standing: str) -> int:
            return int(matrix.filter(pl.col("standing") == standing)["calls"].sum())

        parts = [("inlet_valve", "inlet valve", calls // 50, calls / 50, calls * 1.5)] if known else []
        return WrongTurns(
            calls=calls,
            too_soon=calls // 20,
            known=known,
            right=rate(share("right"), known, name="right"),
            went_deeper=rate(share("went_deeper"), known, name="went_deeper"),
            different=rate(share("different"), known, name="different", design_effect=1.03),
            none_found=rate(share("none_found"), known, name="none_found"),
            unsaid=known // 4,
            none_found_unknown=calls // 100,
            kappa=Agreement(0.71, 0.68, 0.74, known) if known else None,
            firsts=firsts_of(matrix, calls),
            matrix=matrix,
            parts=pl.DataFrame(parts, schema=PARTS_SCHEMA, orient="row"),
            parts_unknown=2.0,
            assumptions=prices,
            minutes=48.0,
        )


HABITS = {
    "mould_state": ("what is in the mould", 0.4, True),
    "proof_of_repair": ("proof of the repair", 0.8, False),
}


def habits_of(calls: int) -> Habits:
    rows, fared = [], []
    for code, (label, share, differs) in HABITS.items():
        of = calls // 2
        missing = rate(int(of * share), of)
        spread = (5, 0.3, 0.35, 0.5, 1) if of > 100 else (0, None, None, None, 0)
        counts = (missing.numerator, of, missing.rate, missing.low, missing.high, of // 3)
        rows.append((code, label, "before the diagnosis", "because", *counts, *spread))
        for outcome in ("different", "came_back", "minutes"):
            n, m = missing.numerator, of - missing.numerator
            if code == "proof_of_repair" and outcome == "different":
                continue
            sums = (n * 10.0, m * 8.0) if outcome == "minutes" else (float(n // 10), float(m // 14))
            told = (2.0, 0.4, 3.6) if outcome == "minutes" else (0.03, 0.011, 0.049)
            limits = told if of > 100 else (None, None, None)
            fared.append(
                (
                    code, outcome, sums[0] / n if n else None, sums[0], n,
                    sums[1] / m if m else None, sums[1], m, *limits,
                    0.001 if of > 100 else None, 0.004 if of > 100 else None, differs and of > 100, of, 5,
                )
            )  # fmt: skip
    habits = pl.DataFrame(rows, schema=HABITS_SCHEMA, orient="row").sort(
        "rate", descending=True, nulls_last=True
    )
    return Habits(calls, 2, calls // 6, habits, pl.DataFrame(fared, schema=FARED_SCHEMA, orient="row"))
