"""Intake answers: what is so, what the caller sees and remembers of it, and what is noted at all."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import polars as pl

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.ledger import Columns
from synthetic_data.places import LOCATIONS, SHUTOFFS, SUPPLIES
from synthetic_data.remembered import filter_texts, freezer_texts, unit_age_texts
from synthetic_data.streams import Bools, Ints, chance, pick
from synthetic_data.trade import trade
from synthetic_data.wording import field_words, say

FILTER_KINDS = ("in_unit", "in_line", "bypass_or_none", "whole_house", "reverse_osmosis")
QUESTIONS = (
    "filter_last_changed",
    "filter_kind",
    "unit_age",
    "problem_duration",
    "mould_state",
    "dispenser_flow",
    "fill_tube_ice",
    "switch_on",
    "freezer_temperature",
    "supply_type",
    "shutoff_valve",
    "what_changed",
    "where_it_stands",
    "already_tried",
)
_ABOUT_THE_TROUBLE = (
    "problem_duration",
    "mould_state",
    "dispenser_flow",
    "fill_tube_ice",
    "switch_on",
    "already_tried",
)


@dataclass(frozen=True)
class Asked:
    """The calls asked about, with what is true of each; one element a call.

    Parameters
    ----------
    calls : dict of str to array
        Rows of the record.
    unit, place : dict of str to array
        Facts of each call's unit and place.
    """

    calls: Columns
    unit: Columns
    place: Columns

    def __len__(self) -> int:
        return len(self.calls["opened"])

    def cause_is(self, *codes: str) -> Bools:
        """Whether the true cause is one of some."""
        return np.isin(self.calls["cause"], [trade().cause(code) for code in codes])

    def symptom_is(self, *codes: str) -> Bools:
        """Whether the symptom is one of some."""
        return np.isin(self.calls["symptom"], [trade().symptom(code) for code in codes])


@cache
def _codes(field: str) -> tuple[str, ...]:
    return tuple(field_words(field))


def _level(field: str, *rules: tuple[Bools, str], otherwise: str, size: int) -> Ints:
    """Level by the first rule that holds."""
    codes = _codes(field)
    level = np.full(size, codes.index(otherwise))
    for holds, code in reversed(rules):
        level[holds] = codes.index(code)
    return level


def _mould(asked: Asked) -> Ints:
    fill, facts = asked.calls["fill_ml"], load()["symptoms"]
    return _level(
        "mould_state",
        (
            asked.cause_is("module_failed", "mould_heater_open", "mould_worn")
            & asked.symptom_is("stuck_cubes"),
            "stuck",
        ),
        (asked.symptom_is("slab_overfill") | (fill > facts["over_fill"]), "slab_overfilled"),
        (asked.symptom_is("hollow_cubes"), "hollow"),
        (asked.symptom_is("layered_cubes"), "layered"),
        (asked.calls["frozen"] | (fill < facts["empty_mould"]), "empty"),
        (fill < facts["small_fill"], "small_cubes"),
        otherwise="normal_full",
        size=len(asked),
    )


def _door(asked: Asked) -> Ints:
    flow = asked.calls["door_l_per_min"]
    dry = asked.cause_is("door_line_frozen", "shutoff_closed") | asked.symptom_is("water_none")
    return _level(
        "dispenser_flow",
        (~asked.unit["dispenser"], "no_dispenser"),
        (dry, "none"),
        (asked.symptom_is("water_drips"), "drips_after"),
        (flow < load()["symptoms"]["slow_dispenser"], "slow"),
        (asked.cause_is("filter_fit_wrong"), "sputters"),
        otherwise="normal",
        size=len(asked),
    )


def _tube(rng: np.random.Generator, asked: Asked) -> Ints:
    assume = load()["callers"]["cleared_before"]
    share = np.where(asked.calls["tries"] > 0, assume["repeat"], assume["first"])
    return _level(
        "fill_tube_ice",
        (asked.calls["frozen"] & chance(rng, share, len(asked)), "cleared_before"),
        (asked.calls["frozen"], "yes"),
        otherwise="no",
        size=len(asked),
    )


def _switch(rng: np.random.Generator, asked: Asked) -> Ints:
    ways, codes = load()["callers"]["off_how"], _codes("switch_on")
    how = np.array([codes.index(code) for code in ways])[pick(rng, np.array(list(ways.values())), len(asked))]
    return np.where(asked.cause_is("switched_off"), how, codes.index("on_arm_down"))


def _duration(rng: np.random.Generator, asked: Asked) -> Ints:
    assume, days = load()["callers"], asked.calls["opened"] - asked.calls["began"]
    wavers = asked.cause_is("harness_damaged", "low_supply_pressure")
    wavers &= chance(rng, assume["comes_and_goes"], len(asked))
    return _level(
        "problem_duration",
        (asked.calls["began"] - asked.unit["installed"] < assume["since_new_days"], "since_new"),
        (wavers, "comes_and_goes"),
        (days < 1, "today"),
        (days < 8, "days"),
        (days < 42, "weeks"),
        otherwise="months",
        size=len(asked),
    )


def _tried(rng: np.random.Generator, asked: Asked) -> Ints:
    assume, codes = load()["callers"], _codes("already_tried")
    shares = assume["tried"]
    level = np.array([codes.index(code) for code in shares])[
        pick(rng, np.array(list(shares.values())), len(asked))
    ]
    level[(asked.calls["tries"] > 0) & chance(rng, assume["we_were_here"], len(asked))] = codes.index(
        "we_were_here"
    )
    level[asked.calls["own_change"]] = codes.index("filter_changed_after")
    return level


def _changed(rng: np.random.Generator, asked: Asked) -> Ints:
    assume, codes, n = load()["callers"], _codes("what_changed"), len(asked)
    shares = assume["changed"]
    idle = 1 - sum(shares.values())
    drawn = pick(rng, np.array([idle, *shares.values()]), n)
    level = np.array([codes.index(code) for code in ("nothing", *shares)])[drawn]
    often = chance(rng, assume["change_told"], n)
    level[asked.cause_is("shutoff_closed") & often] = codes.index("plumbing_work")
    level[asked.cause_is("switched_off") & often] = codes.index("cleaned")
    level[asked.cause_is("supply_line_fault") & often] = codes.index("moved")
    level[asked.cause_is("filter_fit_wrong") & often] = codes.index("new_filter")
    level[asked.cause_is("fill_tube_frozen") & often] = codes.index("power_cut")
    level[asked.calls["opened"] - asked.unit["installed"] < 30] = codes.index("new_install")
    return level


def _same(field: str, codes: tuple[str, ...], level: Ints) -> Ints:
    """The level of a fact whose codes are those of the answer."""
    return np.array([_codes(field).index(code) for code in codes])[level]


def _true_levels(rng: np.random.Generator, asked: Asked) -> dict[str, Ints]:
    return {
        "filter_kind": _same("filter_kind", FILTER_KINDS, asked.unit["filter_kind"]),
        "problem_duration": _duration(rng, asked),
        "mould_state": _mould(asked),
        "dispenser_flow": _door(asked),
        "fill_tube_ice": _tube(rng, asked),
        "switch_on": _switch(rng, asked),
        "supply_type": _same("supply_type", SUPPLIES, asked.place["supply"]),
        "shutoff_valve": _same("shutoff_valve", SHUTOFFS, asked.place["shutoff"]),
        "what_changed": _changed(rng, asked),
        "where_it_stands": _same("where_it_stands", LOCATIONS, asked.place["location"]),
        "already_tried": _tried(rng, asked),
    }


_UNKNOWN = {"mould_state": "never_looked", "fill_tube_ice": "cant_see"}


def _told(rng: np.random.Generator, field: str, level: Ints) -> Ints:
    """What the caller says of it: some do not know, some are wrong."""
    assume, n, codes = load()["callers"], len(level), _codes(field)
    unknown = _UNKNOWN.get(field, "dont_know")
    wrong = chance(rng, assume["wrong_answer"], n)
    level = np.where(wrong, rng.integers(0, len(codes), n), level)
    if unknown in codes:
        level = np.where(chance(rng, assume["dont_know"][field], n), codes.index(unknown), level)
    return level


def _blank(rng: np.random.Generator, asked: Asked, question: str, whole_form: Bools) -> Bools:
    """Questions not asked: more at some depots and on repeat calls, nearly all where the job is no repair."""
    assume = load()["callers"]
    traits = [one["blank"] for one in load()["households"].under("depot").values()]
    share = assume["blank"][question] * np.array(traits)[asked.calls["depot"] % len(traits)]
    share = np.where(asked.calls["tries"] > 0, share * assume["blank_on_repeat"], share)
    elsewhere = 1.0 if question in _ABOUT_THE_TROUBLE else assume["blank_elsewhere"]
    share = np.where(asked.calls["job"] > 0, elsewhere, share)
    return whole_form | chance(rng, share, len(asked))


def answers(rng: np.random.Generator, asked: Asked) -> dict[str, pl.Series]:
    """Texts of the intake answers, null where nothing is noted, by question in the order of QUESTIONS.

    Parameters
    ----------
    asked : Asked
        Calls and what is true of them.
    """
    assume = load()["callers"]
    whole_form = chance(rng, assume["no_form"], len(asked))
    levels = _true_levels(rng, asked)
    texts: dict[str, pl.Series] = {}
    for question in QUESTIONS:
        blank = _blank(rng, asked, question, whole_form)
        if question in levels:
            level = np.where(blank, -1, _told(rng, question, levels[question]))
            as_code, misspelt = assume["noted_as_code"], assume["misspelt_elsewhere"]
            texts[question] = say(rng, question, _codes(question), level, as_code, misspelt)
        elif question == "filter_last_changed":
            texts[question] = filter_texts(rng, asked.calls, asked.unit, blank)
        elif question == "unit_age":
            years = (asked.calls["opened"] - asked.unit["installed"]) / calendar.YEAR_DAYS
            texts[question] = unit_age_texts(rng, years, blank)
        else:
            texts[question] = freezer_texts(rng, asked.cause_is("freezer_warm"), blank)
    return texts
