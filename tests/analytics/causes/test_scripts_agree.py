"""What the browser computes from a pack is what the library computes from the same figures."""

import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analytics.causes.facts import CheckFacts
from analytics.causes.findings import FINDINGS, after_finding
from analytics.causes.next_question import rank_questions
from analytics.causes.order import minutes_of, order_of_checks
from analytics.causes.telling_apart import tells_apart
from analytics.causes.van_parts import PartFacts, parts_for_the_day, parts_to_bring
from tests.analytics.causes.made_facts import like_a_catalogue, pack_of, posterior
from tests.analytics.causes.run_scripts import ASSETS, SCRIPTS, run
from tests.outside.plain_checks import random_case
from tests.outside.test_order_of_checks import as_facts

SIZES = [(1, 1), (3, 3), (6, 4), (8, 8), (9, 5), (14, 12), (28, 30)]
"""Checks and causes, on both sides of what is searched exactly."""


def chances(facts: CheckFacts, p: np.ndarray) -> dict[str, float]:
    return dict(zip(facts.causes, p.tolist(), strict=True))


def instances() -> list[tuple[CheckFacts, np.ndarray, dict[str, Any]]]:
    """Return facts, chances, and what is given besides, as options of the library and of the script."""
    made = []
    for seed in range(28):
        rng = np.random.default_rng(seed)
        checks, causes = SIZES[seed % len(SIZES)]
        facts = like_a_catalogue(rng, checks, causes, visit=float(rng.choice([20, 60, 300])))
        options: dict[str, Any] = {"implied": bool(seed % 4 == 3)}
        if seed % 3 == 1:
            options |= {"paid": ["bin_out"], "made": [str(rng.choice(facts.codes))]}
        made.append((facts, posterior(rng, causes), options))
    for seed in range(12):
        case = random_case(np.random.default_rng(seed), 4, 3)
        made.append((as_facts(case), np.array(case.p), {}))
    return made


def differences(assets: Path = ASSETS) -> list[str]:
    """Say where the script's order is not the library's."""
    asked = instances()
    calls = [("order", [pack_of(facts), chances(facts, p), options]) for facts, p, options in asked]
    wrong = []
    for (facts, p, options), got in zip(asked, run(calls, assets), strict=True):
        found = order_of_checks(facts, p, **options)
        name = f"{len(facts.codes)} checks, {options}"
        figures = [("expected_minutes", found.expected_minutes), ("bound", found.bound), ("gap", found.gap)]
        wrong += [
            f"{name}: {key} {got[key]} not {value}" for key, value in figures if abs(got[key] - value) > 1e-6
        ]
        if (got["exact"], tuple(got["sequence"])) != (found.exact, found.sequence):
            wrong.append(f"{name}: {got['sequence']} not {found.sequence}")
        else:
            wrong += [
                f"{name}: {step} not {vars(ours)}"
                for step, ours in zip(got["steps"], found.steps, strict=True)
                if any(step[key] != pytest.approx(value, abs=1e-6) for key, value in vars(ours).items())
            ]
    return wrong


def test_orders_agree() -> None:
    assert differences() == []


@pytest.mark.parametrize(
    ("script", "sound", "broken"),
    [
        ("checks-clock.js", "after * falsely * (clock + problem.visit)", "after * falsely * clock"),
        ("checks-clock.js", "needed.some(isPaid)", "false"),
        ("checks-exact.js", "cost = way[1] + problem.minutes[check]", "cost = problem.minutes[check]"),
        ("checks-exact.js", "problem.beside[check] + cost", "cost"),
        ("checks-search.js", "minutes >= best.minutes - clock.CLOSE", "minutes >= 0"),
        ("checks-bound.js", "Math.min(findable, times", "Math.min(Infinity, times"),
    ],
)
def test_a_script_that_differs_is_caught(tmp_path: Path, script: str, sound: str, broken: str) -> None:
    for name in SCRIPTS:
        shutil.copy(ASSETS / name, tmp_path)
    text = (ASSETS / script).read_text(encoding="utf-8")
    assert sound in text
    (tmp_path / script).write_text(text.replace(sound, broken), encoding="utf-8")
    assert differences(tmp_path) != []


def test_sequences_findings_and_telling_apart_agree() -> None:
    asked = instances()
    rng = np.random.default_rng(5)
    calls: list[tuple[str, list[Any]]] = []
    ours: list[Any] = []
    for facts, p, options in asked:
        pack, given = pack_of(facts), chances(facts, p)
        sequence = rng.permutation(facts.codes).tolist()
        calls.append(("minutesOf", [pack, given, sequence, options]))
        ours.append(minutes_of(facts, p, sequence, **options))
        for finding in FINDINGS:
            calls.append(("afterFinding", [pack, given, facts.codes[0], finding]))
            ours.append(chances(facts, after_finding(facts, p, facts.codes[0], finding)))
        state = {key: options.get(key, []) for key in ("paid", "made")}
        calls.append(("tellsApart", [pack, given, state]))
        apart = tells_apart(facts, p, **state)
        ours.append(apart and vars(apart))
    for call, got, wanted in zip(calls, run(calls), ours, strict=True):
        if isinstance(got, dict):
            got.pop("worth", None)
            assert got.keys() == wanted.keys(), call[0]
            assert all(got[key] == pytest.approx(wanted[key], abs=1e-6) for key in got), call[0]
        else:
            assert got == pytest.approx(wanted, abs=1e-6), call[0]


def test_questions_agree() -> None:
    for seed in range(4):
        rng = np.random.default_rng(seed)
        facts, p = like_a_catalogue(rng, 12, 8), posterior(rng, 8)
        likely = {f"q{at}": rng.dirichlet(np.ones(3), size=8) for at in range(5)}
        pack = pack_of(facts)
        pack["questions"] = [
            {
                "field": field,
                "levels": [{"code": f"l{at}"} for at in range(3)],
                "chances": {
                    cause: {f"l{at}": table[i, at] for at in range(3)} for i, cause in enumerate(facts.causes)
                },
            }
            for field, table in likely.items()
        ]
        questions = {
            field: (p @ table, (p[:, None] * table / (p @ table)).T)
            for field, table in likely.items() if field != "q2"
        }  # fmt: skip
        ranked = rank_questions(facts, p, questions)
        got = run([("nextQuestions", [pack, chances(facts, p), ["q2"], {}])])[0]
        assert [each["field"] for each in got] == [each.field for each in ranked]
        assert [each["saves_minutes"] for each in got] == pytest.approx(
            [each.saves_minutes for each in ranked], abs=1e-6
        )


def random_parts(rng: np.random.Generator, parts: int, causes: int) -> tuple[PartFacts, dict[str, Any]]:
    """Return parts for the library and as a pack; causes that no part answers need one half of the time."""
    names = [f"k{at}" for at in range(causes)]
    answers = {f"p{at}": [name for name in names if rng.random() < 0.2] for at in range(parts)}
    costs = {code: None if rng.random() < 0.2 else float(rng.uniform(5, 150)) for code in answers}
    whose = {name: ["part"] if rng.random() < 0.5 else ["home"] for name in names}
    answered = {name for some in answers.values() for name in some}
    without = [name for name in names if name not in answered and whose[name] == ["home"]]
    pack = {
        "causes": {name: {"whose": whose[name]} for name in names},
        "parts": {code: {"answers": answers[code], "cost": costs[code]} for code in answers},
    }
    return PartFacts.of({code: (answers[code], costs[code]) for code in answers}, names, without), pack


def test_parts_agree() -> None:
    for seed in range(30):
        rng = np.random.default_rng(seed)
        parts, pack = random_parts(rng, int(rng.integers(1, 20)), int(rng.integers(1, 31)))
        day = np.stack([posterior(rng, len(parts.causes)) for _ in range(6)])
        given = [dict(zip(parts.causes, p.tolist(), strict=True)) for p in day]
        share = float(rng.choice([0.5, 0.8, 0.95, 1.0]))
        one, many = run([("partsToBring", [pack, given[0], share]), ("partsForTheDay", [pack, given, share])])
        ours = parts_to_bring(parts, day[0], share)
        assert one["cost"] == pytest.approx(ours.cost, abs=1e-6)
        assert one["reached"] == ours.reached
        assert tuple(one["not_coverable"]) == ours.not_coverable
        if set(one["parts"]) == set(ours.parts):
            assert one["share"] == pytest.approx(ours.share, abs=1e-6)
        assert many == parts_for_the_day(parts, day, share)


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_is_small_and_only_adds_to_service_calls(name: str) -> None:
    text = (ASSETS / name).read_text(encoding="utf-8")
    assert len(text) < 8192
    assert re.search(r'^\(function \(\) \{\n  "use strict";', text, flags=re.MULTILINE)
    assert text.rstrip().endswith("})();")
    assert not re.search(
        r"\b(?:let|const|class|async|fetch|document)\b|=>", re.sub(r"/\*.*?\*/", "", text, flags=re.S)
    )
