"""Figures about checks of random fleets, against plain loops written apart."""

import random
from functools import cache

import pytest

from analytics import queries
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.questions import check_ground, check_sums, checks
from analytics.statistics.cluster_ratio import ratio_interval
from analytics.statistics.design_effect import ClusterSums
from tests.outside import plain_checks, program
from tests.outside import plain_reference as plain
from tests.outside.comparing import differences
from tests.outside.comparing_figures import AS_OF
from tests.outside.random_fleets import VOCABULARY, beside, fleet
from tests.outside.twins import Twin, broken

MADE = (
    "valve_seep_test", "fill_tube_look", "filter_bypass_catch", "filter_look", "forced_harvest",
    "valve_coil_ohms", "proof_of_repair", "level",
)  # fmt: skip
FOR_CAUSE = {
    "inlet_valve_seeping": "valve_seep_test", "fill_tube_frozen": "fill_tube_look",
    "filter_restricted": "filter_bypass_catch", "module_failed": "forced_harvest",
}  # fmt: skip
FINDINGS = ("fault", "fault", "no_fault", "no_fault", "inconclusive", None)
ASKED = [(30, "family", None), (7, "any", None), (90, "family", AS_OF[2]), (30, "any", AS_OF[1])]


def with_checks(drawn: dict, pick, number: int) -> dict:
    """The fleet with up to three checks on most visits, and on some calls without naming a visit.

    Half of the checks are made for the cause recorded on the call. Technicians are those of this fleet alone.
    """
    cause_of = {call["call_id"]: call["cause"] for call in drawn["calls"]}
    places = [(v["visit_id"], v["call_id"]) for v in drawn["visits"]]
    places += [(None, call["call_id"]) for call in drawn["calls"] if pick(range(8)) == 0]
    made = []
    for visit_id, call_id in places:
        apt = pick(range(2)) == 0
        for check in sorted({pick(MADE) for _ in range(pick((0, 0, 1, 2, 3)))}):
            check, finding = FOR_CAUSE.get(cause_of[call_id], check) if apt else check, pick(FINDINGS)
            place = {"visit_id": visit_id, "call_id": call_id if visit_id is None else pick((None, call_id))}
            minutes = pick((None, 2.0, 5.0, 9.0))
            made.append(place | {"source": "any", "check": check, "finding": finding, "minutes": minutes})

    def own(rows: list[dict], *names: str) -> list[dict]:
        return [row | {name: row[name] and f"{number} {row[name]}" for name in names} for row in rows]

    return drawn | {
        "calls": own(drawn["calls"], "technician"),
        "visits": own(drawn["visits"], "technician", "helper"),
        "checks": own(made, "call_id", "visit_id"),
    }


@cache
def many() -> dict:
    """The fleets of 400 seeds, side by side: the same at every run."""
    drawn = []
    for seed in range(400):
        rng = random.Random(seed)
        drawn.append(with_checks(fleet(rng.choice), rng.choice, seed))
    together = beside(drawn)
    together["checks"] = [check for one in drawn for check in one["checks"]]
    together["calls"] = plain.understood(together["calls"], VOCABULARY)
    return together


@cache
def by_loops() -> dict[str, object]:
    drawn, said = many(), {}
    ends = plain.observation_ends(drawn["calls"], drawn["visits"], drawn["extracted"])
    rows = program.catalogue().frames()["reveals"].rows()
    reveals = {(check, cause): share for check, cause, share in rows}
    for window, match, as_of in ASKED:
        asked = f"{window} days, {match}, as of {as_of}"
        known = plain_checks.yields(drawn, ends, VOCABULARY, reveals, as_of)
        for check, counts in known.items():
            said[f"{check}, {asked}"] = counts
        counted = plain_checks.not_recorded(drawn, ends, VOCABULARY, reveals, as_of)
        missing, of, weighted, left_out, returns, by_check = counted
        said[f"not recorded, {asked}"] = (missing, of, round(weighted, 9), left_out, returns)
        said[f"not recorded by check, {asked}"] = {k: round(v, 9) for k, v in by_check.items()}
        for kind, counts in plain_checks.repairs(drawn, ends, VOCABULARY, window, match, as_of).items():
            said[f"{kind}, {asked}"] = counts
    return said


@cache
def marts() -> Fleet:
    """The facade on the marts of those fleets, built once: no twin below breaks the marts."""
    return program.facade(program.built(many()))


def by_program() -> dict[str, object]:
    facade, said = marts(), {}
    for window, match, as_of in ASKED:
        asked = f"{window} days, {match}, as of {as_of}"
        found = facade.checks(Filters(window_days=window, match=match, as_of=as_of), by="symptom")
        for row in found.checks.to_dicts():
            row["minutes"] = (row["minutes"] or 0) * row["timed"]
            said[f"{row['check']}, {asked}"] = {name: pytest.approx(row[name]) for name in plain_checks.NAMES}
        missing = found.unrecorded
        counts = (missing.rate.numerator, missing.rate.denominator)
        said[f"not recorded, {asked}"] = (
            *counts, round(missing.weighted, 9), missing.calls_left_out, missing.returns,
        )  # fmt: skip
        said[f"not recorded by check, {asked}"] = {
            check: round(weighted, 9) for check, weighted in missing.checks.select("check", "weighted").rows()
        }
        without, fitted = found.valves.without_evidence.numerator, found.valves.without_evidence.denominator
        kinds = [(each.code, each.calls, each.callback_rate) for each in found.proof]
        kinds.append(("without evidence", without, found.valves.came_back_without))
        kinds.append(("with evidence", fitted - without, found.valves.came_back_with))
        for kind, calls, rate in kinds:
            said[f"{kind}, {asked}"] = (calls, rate.denominator, rate.numerator)
    return said


def test_program_and_loops_agree() -> None:
    assert differences(by_loops(), by_program()) == []
    enough = by_loops()["not recorded, 30 days, family, as of None"]
    assert min(enough) >= 20, "the fleets hold enough of everything"


TWINS = (
    Twin(
        "a string is over when it begins",
        "metrics/checked_calls",
        (("episodes.last_closed_at,", "episodes.opened_at as last_closed_at,"),),
    ),
    Twin(
        "a find that was not the final cause counts",
        "metrics/checks_made",
        (("if(reveals.cause is null, 'elsewhere', 'found')", "'found'"),),
    ),
    Twin(
        "what came back again counts",
        "metrics/checks_made",
        (("if(episodes.held, episodes.final_cause, null)", "episodes.final_cause"),),
    ),
    Twin("nobody home counts", "metrics/check_recorders", (("where visits.let_in", ""),)),
    Twin("helpers record nothing", "metrics/check_recorders", (("where records > 1", "where false"),)),
    Twin(
        "checks of a call without a visit are lost",
        "metrics/check_recorders",
        (("or calls_checked.call_id is not null", ""),),
    ),
    Twin("a failed proof proves", "metrics/checks_made", (("checks.finding <> 'fault'", "true"),)),
    Twin("whatever was done counts", "metrics/checks_chosen", (("if(completed, 2, 0)", "2"),)),
)  # fmt: skip


@pytest.mark.parametrize("twin", TWINS, ids=lambda twin: twin.name)
def test_broken_statements_are_caught(twin: Twin, monkeypatch: pytest.MonkeyPatch) -> None:
    assert twin.statement.startswith("metrics/"), "a twin of the marts needs marts of its own"
    by_loops(), marts()
    monkeypatch.setattr(queries, "statement", broken(twin))
    assert differences(by_loops(), by_program()) != []


BROKEN = {
    "young strings count": (checks, "settled", lambda on, cutoffs: on.place > 0),
    "the recording rule is ignored": (check_ground, "FEWEST_VISITS_CHECKED", 0.0),
    "the recording rule asks for three in four": (check_ground, "FEWEST_VISITS_CHECKED", 0.75),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_rules_are_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    by_loops(), marts()
    monkeypatch.setattr(*BROKEN[name])
    assert differences(by_loops(), by_program()) != []


def test_finds_an_hour_have_the_interval_of_sums_over_units() -> None:
    """Added up unit by unit in a loop; by symptom too, where a call can be in two groups."""
    facade, drawn = marts(), many()
    ends = plain.observation_ends(drawn["calls"], drawn["visits"], drawn["extracted"])
    rows = program.catalogue().frames()["reveals"].rows()
    reveals = {(check, cause) for check, cause, _ in rows}
    episode = plain_checks.episode_of(drawn["calls"], ends, VOCABULARY, None)
    found = facade.checks(Filters(), by="symptom")
    compared = 0
    for row in [*found.checks.to_dicts(), *found.groups.to_dicts()]:
        if row["per_hour_low"] is None:
            continue
        units: dict[str, list[float]] = {}
        for call in drawn["calls"]:
            mature, held, final = episode.get(call["call_id"], (False, False, None))
            if not mature or (row["group"] and row["group"] not in call["symptoms"]):
                continue
            if row["group_label"] == "not recognised" and call["symptoms"]:
                continue
            for check in plain_checks.checks_of(call, drawn):
                if check["check"] == row["check"] and check["minutes"]:
                    hit = held and check["finding"] == "fault" and (check["check"], final) in reveals
                    sums = units.setdefault(call["unit_id"], [0.0, 0.0])
                    sums[0] += check["minutes"]
                    sums[1] += hit
        n, x = [each[0] for each in units.values()], [each[1] for each in units.values()]
        nn, nx = sum(a * a for a in n), sum(a * b for a, b in zip(n, x, strict=True))
        of_units = ClusterSums(len(units), sum(n), sum(x), nn, nx, sum(b * b for b in x))
        low, high = ratio_interval(of_units, sum(b > 0 for b in x))
        limits = (60 * sum(x) / sum(n), 60 * low, 60 * high)
        assert (row["per_hour"], row["per_hour_low"], row["per_hour_high"]) == pytest.approx(limits)
        compared += 1
    assert compared >= 8
    assert check_sums.FEWEST_UNITS == 5
