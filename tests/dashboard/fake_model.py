"""Stand-ins for the model card: an evaluation of invented round numbers."""

from typing import Any

from analytics.causes.drift import Drift
from analytics.causes.evaluation import Evaluation
from analytics.fleet_causes import ModelCard
from analytics.statistics.cluster_bootstrap import Mean
from tests.dashboard.fake_pack import fake_pack

COUNTED = {"filter_restricted": 500, "module_failed": 200, "harness_damaged": 3}


def _around(name: str, value: float, by: float) -> dict[str, float]:
    return {name: value, f"{name}_low": value - by, f"{name}_high": value + by}


def _score(who: str, among: str, episodes: int, first: float, loss: float) -> dict[str, Any]:
    row: dict[str, Any] = {"who": who, "among": among, "episodes": episodes}
    row |= _around("log_loss", loss, 0.05) | _around("brier", 0.6, 0.02)
    return row | _around("top1", first, 0.02) | _around("top3", first + 0.27, 0.02)


def fake_evaluation(beaten: bool = True) -> Evaluation:
    """Return an evaluation of every part."""
    minutes = {"model": 28.7, "technicians": 46.3, "fixed": 49.7, "clairvoyant": 17.7}
    means = {name: {"minutes": each, "low": each - 2, "high": each + 2} for name, each in minutes.items()}
    return Evaluation(
        cut="2026-03-01",
        earlier=8000,
        later=2000,
        scores=[
            _score("model", "confirmed", 2000, 0.53, 1.5),
            _score("overall shares", "confirmed", 2000, 0.24, 2.9),
            _score("shares by kind of complaint", "confirmed", 2000, 0.33, 2.3),
            _score("model", "units never seen", 450, 0.50, 1.6),
            _score("model", "probable", 900, 0.31, 2.4),
        ],
        gains=[
            {"over": over, "gain": 0.8, "low": 0.7 if beaten else -0.1, "high": 0.9, "beaten": beaten}
            for over in ("overall shares", "shares by kind of complaint")
        ],
        calibration=[
            {
                "low": n / 10,
                "high": (n + 1) / 10,
                "given": 1000 // (n + 1),
                "mean_chance": n / 10 + 0.05,
                "there": int(1000 // (n + 1) * (n / 10 + 0.04)),
                "share": n / 10 + 0.04,
                "share_low": n / 10 + 0.01,
                "share_high": n / 10 + 0.08,
            }
            for n in range(10)
        ],
        calibration_error=0.002,
        recalls=[
            {"cause": cause, "episodes": episodes, "mean_chance": 0.4}
            | _around("first", 0.5, 0.1)
            | {"among_three": 0.8, "three_low": 0.7, "three_high": 0.9}
            for cause, episodes in (
                ("filter_restricted", 500),
                ("module_failed", 200),
                ("harness_damaged", 3),
            )
        ],
        learning=[
            {"episodes": 1000 * 2**n, "log_loss": 2 - n / 5, "low": 1.9 - n / 5, "high": 2.1 - n / 5}
            for n in range(4)
        ],
        worth=[
            {"answer": "complaint", "given": 0.97, "lost": 0.7, "low": 0.6, "high": 0.8},
            {"answer": "mould_state", "given": 0.6, "lost": 0.1, "low": 0.05, "high": 0.15},
            {"answer": "already_tried", "given": 0.4, "lost": 0.0, "low": -0.01, "high": 0.01},
        ],
        tried=[
            {
                "name": "logistic",
                "penalty": "0.5",
                "temperature": 1.05,
                "log_loss": 1.55,
                "gain": None,
                "gain_low": None,
                "gain_high": None,
                "episodes": 1600,
                "taken": True,
            },
            {
                "name": "boosted",
                "penalty": "",
                "temperature": 1.1,
                "log_loss": 1.54,
                "gain": 0.01,
                "gain_low": -0.01,
                "gain_high": 0.03,
                "episodes": 1600,
                "taken": False,
            },
        ],
        orders={
            "calls": 400,
            "units": 380,
            "second_visit_minutes": 83.6,
            "means": means,
            "saved": {"technicians": {"minutes": 17.6, "low": 15.3, "high": 20.1}},
        },
    )


class FakeModel:
    """The methods of `FleetCauses` that pages ask."""

    fitted = True
    beaten = True
    drifted = False

    def new_call_pack(self) -> dict[str, Any] | None:
        return fake_pack() if self.fitted else None

    def model_card(self) -> ModelCard | None:
        if not self.fitted:
            return None
        about = {
            "classifier": "CauseClassifier",
            "data_of": "2026-10-31T12:00:00",
            "fitted_at": "2026-11-01T08:00:00",
            "versions": {"scikit-learn": "1.9"},
            "counts": {
                "mature": 21000, "learned_from": 13000, "probable": 5000, "no_fault_found": 200,
                "not_recognised": 2800,
            },
        }  # fmt: skip
        moved = {"answer": "mould_state", "distance": 0.2, "level": "", "share_then": 0.4, "share_now": 0.6}
        worse = Drift(900, [moved], 300, Mean(1.9, 1.8, 2.0, 300), 1.5)
        drift = worse if self.drifted else Drift(0, [], 0, None, 1.5)
        return ModelCard(about, fake_evaluation(self.beaten), drift)
