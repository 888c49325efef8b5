"""Stand-ins for first visits and costs: a few groups over invented numbers."""

import numpy as np
import polars as pl

from analytics.cost_assumptions import CostAssumptions
from analytics.filters import Filters
from analytics.questions.cost_sums import CostSums, Moments, Work
from analytics.questions.costs import Costs, costs
from analytics.questions.first_visit import FirstVisit, FirstVisits
from analytics.questions.parts_aboard import BEST_SCHEMA, SINGLE_SCHEMA, PartsAboard
from analytics.questions.spoiled import REASONS, spoiled
from tests.dashboard.fake_frames import DEPOTS, LABELS, TECHNICIANS, rate


def visits_of(group: str | None, label: str, calls: int, seen: bool = True) -> FirstVisits:
    counts = {"spoiled_came_back": calls // 16, "spoiled_part": calls // 8}
    counts |= {"spoiled_diagnosis": calls // 60, "spoiled_no_access": calls // 30, "spoiled_other": 0}
    judged = calls * 9 // 10
    failed = sum(counts[f"spoiled_{name}"] for name in ("came_back", "part", "diagnosis", "no_access"))
    name = "first_time_fix_rate" if seen else "closed_without_return"
    left_out = {"is_callback": calls // 14, "no_visit": calls // 20, "not_completed": calls // 40}
    return FirstVisits(
        group,
        label,
        rate(judged - failed, judged, calls // 11, name=name, left_out=left_out),
        rate(judged - failed, judged - calls // 30) if seen else rate(0, 0),
        calls,
        calls // 20 if seen else 0,
        {reason: counts[f"spoiled_{reason}"] for reason in REASONS},
    )


def aboard(trips: int) -> PartsAboard:
    known = trips * 9 // 10
    if not known:
        return PartsAboard(trips, 0, pl.DataFrame(schema=SINGLE_SCHEMA), pl.DataFrame(schema=BEST_SCHEMA))
    valve = rate(known // 2, known)
    both = rate(known * 2 // 3, known)
    single = [("inlet_valve", "inlet valve", known * 2 // 3, known // 2, valve.rate, valve.low, valve.high)]
    best = [
        (1, ["inlet_valve"], ["inlet valve"], 1, valve.numerator, valve.rate, valve.low, valve.high),
        (2, ["water_filter"], ["filter of the unit"], 2, both.numerator, both.rate, both.low, both.high),
    ]
    return PartsAboard(
        trips,
        known,
        pl.DataFrame(single, schema=SINGLE_SCHEMA, orient="row"),
        pl.DataFrame(best, schema=BEST_SCHEMA, orient="row"),
    )


def moments_of(returns: int) -> Moments:
    """Return the sums of so many returns, one a unit: each one visit of 50 minutes and a part of 60."""
    each = np.array([1.0, 1.0, 50.0, 0.0, 60.0, 0.0])
    spread = np.outer(each, each) * 1.3 * returns
    return Moments(returns, each * returns, spread, each * returns * 2)


class FakeWork:
    """The methods of `FleetWork` over invented numbers."""

    total: int
    visits_loaded = True

    def _some(self, filters: Filters) -> int:
        return self.total if not filters.depots else self.total * len(filters.depots) // 5

    def first_visit(self, filters: Filters, by: str | None = None) -> FirstVisit:
        calls = self._some(filters)
        names = {"depot": DEPOTS, "technician": TECHNICIANS, "symptom": LABELS["symptoms"]}.get(by or "", {})
        seen = self.visits_loaded
        groups = [
            visits_of(code, label, max(3, calls // (len(names) + n)), seen)
            for n, (code, label) in enumerate(names.items())
        ]
        whole = visits_of(None, "all calls", calls, seen)
        reasons = spoiled({f"spoiled_{reason}": count for reason, count in whole.reasons.items()})
        return FirstVisit(whole, reasons, by, groups, aboard(calls // 8), seen)

    def costs(self, filters: Filters, by: str = "cause", assumed: CostAssumptions | None = None) -> Costs:
        """Priced as the program does, over sums made up here."""
        calls = self._some(filters)
        names = {"depot": DEPOTS, "product_family": LABELS["product_families"]}.get(by, LABELS["causes"])
        back = calls * 8 // 100
        groups = {code: moments_of(back // (n + 2)) for n, code in enumerate(names) if back}
        years = 2.0 if calls else 0.0
        whole = moments_of(back)
        sums = CostSums(
            calls // 2, calls, calls * 2.5, years, back, back * 1.1, back * 2.4, whole, {**groups}
        )
        counts = {code: (calls // len(names), back // (n + 2)) for n, code in enumerate(names)}
        counts = {} if by == "final_cause" else counts
        done = Work(pl.DataFrame(), calls, calls * 9 // 10, 48.0)
        return costs(sums, {**counts}, {**names}, done, assumed or CostAssumptions.usual(), by)

    def costed_returns(
        self, filters: Filters, by: str = "cause", assumed: CostAssumptions | None = None
    ) -> pl.DataFrame:
        return pl.DataFrame({"call_id": ["C1"], "return_call_id": ["R1"], "cost": [140.0]})

    def second_trips(self, filters: Filters) -> pl.DataFrame:
        return pl.DataFrame(
            {"call_id": ["C1", "C2"], "parts": ["inlet_valve", ""], "not_recognised": [0, 1]}
        ).with_columns(saved_from_step=pl.Series([1, None], dtype=pl.Int64))
