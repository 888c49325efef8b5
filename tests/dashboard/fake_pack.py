"""A small fixed pack of what a New call page computes from; effects and shares are invented round numbers.

Labels, minutes, limits and parts are those of the catalogue, so that the page shows what it will show.
"""

import json
from typing import Any

from analytics.catalogue import load_catalogue

CAUSES = [
    "filter_restricted",
    "low_supply_pressure",
    "inlet_valve_seeping",
    "inlet_valve_open_coil",
    "switched_off",
    "freezer_warm",
    "rarer",
]
RARER = {"module_failed": 0.6, "water_quality": 0.4}
ASKED = {
    "switch_on": {"on_arm_down": [0, 0, 0, 0, -1.5, 0, 0], "off": [-1, -1, -1, -1, 4, -1, -1]},
    "mould_state": {
        "empty": [0, 0.6, 0.2, 1.6, 0.8, -0.5, 0],
        "small_cubes": [1.2, 1.0, 0.6, -1, -1, -0.5, 0],
        "hollow": [1.4, 0.8, -0.2, -1, -1, 0.6, 0.2],
        "normal_full": [-1.5, -1.2, -1, -1.2, 0.5, 0.2, 1.2],
    },
    "dispenser_flow": {
        "normal": [-1.6, -1.4, 0.2, 0.3, 0.2, 0.2, 0.2],
        "slow": [1.5, 1.2, -0.2, -0.6, -0.8, -0.5, -0.4],
        "drips_after": [-0.3, -0.3, 2.2, -0.8, -0.8, -0.5, -0.3],
    },
    "fill_tube_ice": {"yes": [0, 0.5, 2.0, -1, -1, -0.8, 0], "no": [0, -0.1, -0.8, 0.1, 0.1, 0, 0]},
    "freezer_temperature": {
        "food_hard": [0, 0, 0, 0, 0, -1.4, 0],
        "food_soft": [-0.5, -0.5, -0.5, -0.5, -0.5, 3, 0],
    },
    "supply_type": {
        "town_water": [0, -0.4, 0, 0, 0, 0, 0],
        "well": [0.3, 0.8, 0.2, 0, 0, 0, 0.2],
        "reverse_osmosis": [-0.5, 1.6, 0.2, 0, 0, 0, 0],
    },
    "what_changed": {"nothing": [0.1, 0, 0, 0, -0.3, 0, 0], "cleaned": [-0.5, -0.4, -0.4, -0.4, 1.6, 0, 0]},
    "where_it_stands": {"kitchen": [0] * 7, "built_in": [0, 0.1, 0, 0, 0, 0.1, 0]},
}
SYMPTOMS = ("no_ice", "small_cubes", "hollow_cubes", "water_slow", "leak_floor")
SMOOTH = {
    "filter_age_days": ([0, 180, 365, 730], [-1.2, -0.2, 0.8, 1.3]),
    "unit_age_days": ([0, 1825, 5475], [0, 0, 0.2]),
    "problem_duration_days": ([0, 7, 30, 180], [-0.4, 0, 0.2, 0.4]),
    "filter_age_began_days": ([0, 365], [-0.2, 0.2]),
    "freezer_celsius": ([-25, -18, -5], [0.2, 0, -1]),
}
CHECKS = (
    "ask_history", "switch_arm_bin", "look_at_mould", "freezer_temperature", "dispenser_catch",
    "filter_bypass_catch", "fill_tube_look", "line_end_flow", "pressure_static_flowing", "valve_coil_ohms",
    "valve_seep_test", "fill_measure", "forced_harvest", "valve_voltage_in_fill", "heater_sensor_ohms",
)  # fmt: skip


def fake_pack() -> dict[str, Any]:
    """Return the pack as the browser gets it: plain values only."""
    catalogue = load_catalogue()
    every = [cause for cause in CAUSES if cause != "rarer"] + list(RARER)
    pack = {
        "made_of": {
            "data_of": "2026-11-27",
            "fitted_until": "2026-10-01",
            "episodes": 12345,
            "note": "On later calls the true cause was among the three likeliest in 83 of 100.",
        },
        "model": _model(),
        "causes": {
            code: {
                "label": catalogue.causes[code].label,
                "whose": list(catalogue.causes[code].whose),
                "signs": catalogue.causes[code].signs,
                "by_phone": {"fixed": 181 if code == "switched_off" else 12, "of": 240},
            }
            for code in every
        },
        "checks": [_check(catalogue, code, every) for code in CHECKS],
        "setups": {
            each.code: {
                "label": each.label,
                "minutes": each.minutes,
                "built_in_minutes": each.built_in_minutes,
            }
            for each in catalogue.setups.values()
        },
        "cautions": dict(catalogue.cautions),
        "second_visit_minutes": 60,
        "parts": {
            each.code: {
                "label": each.label,
                "answers": [cause for cause in each.answers if cause in every],
                "cost": 40.0,
                "van_stock": each.van_stock,
            }
            for each in catalogue.parts.values()
            if set(each.answers) & set(every)
        },
        "questions": [_question(catalogue, field, every) for field in ASKED],
        "similar": [
            _similar(n, cause, mould, flow)
            for n, (cause, mould, flow) in enumerate(
                [
                    ("filter_restricted", "hollow", "slow"),
                    ("filter_restricted", "small_cubes", "slow"),
                    ("low_supply_pressure", "hollow", "slow"),
                    ("inlet_valve_seeping", "small_cubes", "drips_after"),
                    ("inlet_valve_open_coil", "empty", "normal"),
                    ("switched_off", "normal_full", "normal"),
                ]
            )
        ],
        "leave": [],
    }
    return json.loads(json.dumps(pack))


def _model() -> dict[str, Any]:
    k = len(CAUSES)
    levels: dict[str, Any] = {field: {**each, "": [0] * k} for field, each in ASKED.items()}
    for at, symptom in enumerate(SYMPTOMS):
        levels[f"symptom:{symptom}"] = {"yes": [0.3 if n == at else 0 for n in range(k)], "no": [0] * k}
    for name, each in {
        "complaint": "hollow_cubes",
        "season": "winter",
        "product_family": "side_by_side",
    }.items():
        levels[name] = {each: [0.2, *[0] * (k - 1)], "": [0] * k}
    smooth = {
        name: {"at": at, "effects": [[value, *[0] * (k - 1)] for value in first], "": [0] * k}
        for name, (at, first) in SMOOTH.items()
    }
    return {
        "causes": CAUSES,
        "intercept": [0.6, 0.2, 0.1, -0.4, 0.3, 0, 0.2],
        "temperature": 1.0,
        "levels": levels,
        "smooth": smooth,
        "average": {name: [0.05] * k for name in (*levels, *smooth)},
        "rarer": RARER,
    }


def _check(catalogue: Any, code: str, causes: list[str]) -> dict[str, Any]:
    check = catalogue.checks[code]
    limits = [each for each in catalogue.limits.values() if each.check == code]
    return {
        "code": code,
        "label": check.label,
        "tells": check.tells,
        "minutes": check.minutes,
        "beside_minutes": check.beside_minutes,
        "setups": [each for each in (check.setup, check.setup_or) if each and each != "front"],
        "caution": check.caution,
        "cautions": list(check.cautions),
        "reveals": {cause: share for cause, share in check.reveals.items() if cause in causes},
        "false_finding": 0.05,
        "made": 321,
        "limits": [
            {
                "code": each.code,
                "label": each.label,
                "unit": each.unit,
                "low": each.low,
                "high": each.high,
                "stop": each.stop,
                "state": each.state,
                "says": each.says,
                "also": dict(each.also) if each.also else None,
            }
            for each in limits
        ],
    }


def _question(catalogue: Any, field: str, causes: list[str]) -> dict[str, Any]:
    labels = catalogue.labels(field)
    levels = [{"code": code, "label": label} for code, label in labels.items()]
    known = [code for code in ASKED[field] if code in labels]
    chances = {
        cause: {
            code: (2.0 if (n + at) % len(known) == 0 else 1.0) / (len(known) + 1)
            for at, code in enumerate(known)
        }
        for n, cause in enumerate(causes)
    }
    return {"field": field, "label": catalogue.fields[field].label, "levels": levels, "chances": chances}


def _similar(n: int, cause: str, mould: str, flow: str) -> dict[str, Any]:
    parts = {"filter_restricted": ["water_filter"], "inlet_valve_seeping": ["inlet_valve"]}
    return {
        "call_id": f"C{39000 + n}",
        "closed_on": f"2026-09-{20 - n:02d}",
        "cause": cause,
        "parts": parts.get(cause, []),
        "answers": {"mould_state": mould, "dispenser_flow": flow, "supply_type": "town_water"},
    }
