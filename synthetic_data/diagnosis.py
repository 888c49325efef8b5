"""Diagnosis: which checks are made in which order, what they show or miss, and what is concluded."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from synthetic_data.assumptions import load
from synthetic_data.streams import Bools, Floats, Ints, chance, logistic, pick_rows
from synthetic_data.trade import SETUPS, trade

MOST_CHECKS = 10
FAULT, NO_FAULT, INCONCLUSIVE = range(3)
FINDINGS = ("fault", "no_fault", "inconclusive")


@dataclass(frozen=True)
class Diagnosis:
    """What a visit found.

    Parameters
    ----------
    cause : Ints, shape (n,)
        Cause named.
    shown : Bools, shape (n,)
        Some check showed a fault; else it is a guess.
    row, check, finding, minutes : shape (checks made,)
        Checks in the order made: the visit's row, check, finding, minutes with their noise.
    false_open : Bools, shape (checks made,)
        A good coil read as open on the wrong range.
    total_minutes : Floats, shape (n,)
        Minutes of checks and set-ups.
    """

    cause: Ints
    shown: Bools
    row: Ints
    check: Ints
    finding: Ints
    minutes: Floats
    false_open: Bools
    total_minutes: Floats


@cache
def _usefulness() -> Floats:
    """Share of faults shown per minute, by symptom and check."""
    facts = trade()
    setup = np.array([load()["checks"]["setup_minutes"][name] for name in SETUPS], np.float32)
    cost = facts.minutes + 0.5 * setup[facts.setup]
    return (facts.thoughts @ facts.reveals.T) / cost


def _made(rng: np.random.Generator, symptom: Ints, thorough: Floats) -> Bools:
    wish = load()["checks"]["wish"]
    keen = _usefulness() / wish["half"]
    likely = wish["floor"] + (wish["most"] - wish["floor"]) * keen / (1 + keen)
    proof = trade().check("proof_of_repair")
    likely[:, proof] = wish["proof"]
    return rng.random((len(symptom), len(trade().checks)), dtype=np.float32) < (
        likely[symptom] * thorough[:, None].astype(np.float32)
    )


def _order(rng: np.random.Generator, made: Bools, symptom: Ints, skill: Floats) -> Ints:
    """Checks of each visit in order, unmade ones last, shape (n, MOST_CHECKS); skill orders by usefulness."""
    assume = load()["checks"]
    noise = (
        2 * assume["thoroughness"]["inexperience"] * (assume["skilled"]["disorder_slack"] - logistic(skill))
    )
    score = np.log(_usefulness() + 1e-4).astype(np.float32)[symptom]
    score += noise[:, None].astype(np.float32) * rng.standard_normal(made.shape, dtype=np.float32)
    score[:, trade().check("proof_of_repair")] = -50.0
    score[~made] = -100.0
    return np.argsort(-score, axis=1)[:, :MOST_CHECKS]


def _shown_by(rng: np.random.Generator, cause: Ints, order: Ints, skill: Floats) -> Bools:
    skilled = load()["checks"]["skilled"]
    keen = skilled["shown_low"] + skilled["shown_gain"] * logistic(skill)
    share = trade().reveals[order, cause[:, None]] * keen[:, None]
    return rng.random(order.shape, dtype=np.float32) < share


def diagnose(
    rng: np.random.Generator,
    cause: Ints,
    symptom: Ints,
    frozen: Bools,
    built_in: Bools,
    skill: Floats,
    thorough: Floats,
) -> Diagnosis:
    """Make the checks of a batch of visits and draw conclusions.

    Parameters
    ----------
    cause, symptom : Ints, shape (n,)
        True cause and symptom.
    frozen : Bools
        The fill tube is frozen: that shows first, whatever lies behind it.
    built_in : Bools
        The refrigerator is built in, and slow to pull out.
    skill : Floats
        Logit of the technician's skill with the cause.
    thorough : Floats
        Share of useful checks the technician makes.
    """
    assume, facts, n = load()["checks"], trade(), len(cause)
    made = _made(rng, symptom, thorough)
    order = _order(rng, made, symptom, skill)
    done = np.take_along_axis(made, order, axis=1)
    tube = facts.cause("fill_tube_frozen")
    true = _shown_by(rng, cause, order, skill) & done
    iced = _shown_by(rng, np.full(n, tube), order, skill) & done & frozen[:, None] & ~true
    slack = (assume["skilled"]["false_slack"] - logistic(skill))[:, None]
    false = (
        (rng.random(order.shape, dtype=np.float32) < assume["false_finding"] * slack) & done & ~true & ~iced
    )
    coil = (order == facts.check("valve_coil_ohms")) & done & ~true
    false_open = coil & (rng.random(order.shape, dtype=np.float32) < assume["wrong_range"])
    false = (false | false_open) & (facts.reveals.sum(axis=1) > 0)[order]
    first = [np.where(one.any(axis=1), one.argmax(axis=1), MOST_CHECKS) for one in (true, iced, false)]
    named = _conclude(rng, cause, symptom, skill, first, order)
    shown = np.minimum(np.minimum(first[0], first[1]), first[2]) < MOST_CHECKS
    stop = np.where(first[2] < first[0], first[2], first[0])
    later = np.arange(MOST_CHECKS) > stop[:, None]
    proof = order == facts.check("proof_of_repair")
    dropped = later & ~proof & (rng.random(order.shape, dtype=np.float32) > assume["wish"]["keep_going"])
    done &= ~dropped
    row, at = np.nonzero(done)
    check = order[row, at]
    fault = (true | iced | false)[row, at]
    vague = ~fault & chance(rng, assume["inconclusive"], len(row))
    spread = load()["parts"]["minutes_spread"]
    minutes = facts.minutes[check] * rng.uniform(spread["check_low"], spread["check_high"], len(row))
    total = np.bincount(row, minutes, n) + _setup_minutes(row, check, built_in)
    return Diagnosis(
        cause=named,
        shown=shown,
        row=row,
        check=check,
        finding=np.where(fault, FAULT, np.where(vague, INCONCLUSIVE, NO_FAULT)),
        minutes=minutes,
        false_open=false_open[row, at],
        total_minutes=total,
    )


def _setup_minutes(row: Ints, check: Ints, built_in: Bools) -> Floats:
    """Minutes of set-up of each visit, each paid once."""
    minutes = load()["checks"]["setup_minutes"]
    paid = np.zeros((len(built_in), len(SETUPS)), bool)
    paid[row, trade().setup[check]] = True
    pulled = paid[:, SETUPS.index("R")] & built_in
    return paid @ np.array([minutes[name] for name in SETUPS]) + pulled * (
        minutes["R_built_in"] - minutes["R"]
    )


def _conclude(
    rng: np.random.Generator, cause: Ints, symptom: Ints, skill: Floats, first: list[Ints], order: Ints
) -> Ints:
    """Cause named after the checks: what they showed first, else what lies behind the ice, else a guess."""
    facts, guess, n = trade(), load()["technicians"]["guess"], len(cause)
    true, iced, false = first
    thought = pick_rows(rng, facts.thoughts[symptom])
    right = chance(rng, logistic(guess["right"] + skill), n)
    nothing = chance(rng, guess["nothing_found"], n)
    named = np.where(right, cause, np.where(nothing, facts.cause("no_fault_found"), thought))
    deeper = chance(rng, logistic(load()["technicians"]["sees_deeper"] + skill), n)
    on_ice = iced < MOST_CHECKS
    named = np.where(on_ice, np.where(deeper, cause, facts.cause("fill_tube_frozen")), named)
    misled = np.flatnonzero((false < true) & (false < MOST_CHECKS) & ~on_ice)
    if len(misled):
        by = order[misled, false[misled]]
        weights = facts.reveals[by] * (facts.thoughts[symptom[misled]] + 0.01)
        named[misled] = pick_rows(rng, weights)
    return np.where((true < MOST_CHECKS) & (true <= false), cause, named)
