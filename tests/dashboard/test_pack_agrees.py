"""What the New call page computes from the pack of a fitted model is what the library computes from it."""

import copy
import json
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.causes.answers import ANSWERS, COMPLAINT, UNIT_FACTS
from analytics.causes.evidence import facts_kept
from analytics.causes.explaining import LEAST_LOG_ODDS, MOST_NAMED, moved
from analytics.causes.features import SYMPTOM, as_features
from analytics.causes.keeping import KeptModel
from analytics.causes.model import CauseModel, Floats
from analytics.causes.order import minutes_of, order_of_checks
from analytics.causes.pack import model_in_numbers
from tests.analytics.causes.run_scripts import run
from tests.dashboard.javascript import answer
from tests.outside.generated_fleet import fitted_fleet

MOST_APART = 0.01
"""A chance may differ by so much: curves are drawn as straight pieces, and numbers are rounded."""
MOST_BYTES = 600_000
CALLS = 48
ORDERS = 12
TOLD_AMOUNTS = ("problem_duration_days", "freezer_celsius")
KNOWN_AMOUNTS = ("filter_age_days", "unit_age_days")
KNOWN_TO_OBJECTS = "constructor"
"""An answer never met, and a word that every object of the browser knows."""
FILES = ("call_told.js", "likelihood.js")

Answers = dict[str, str]


@dataclass(frozen=True)
class Fitted:
    """A fleet's model, its pack, and some of its calls."""

    kept: KeptModel
    pack: dict[str, Any]
    intake: pl.DataFrame

    @property
    def model(self) -> CauseModel:
        return self.kept.model


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> Fitted:
    fleet = fitted_fleet(tmp_path_factory)
    kept, pack = fleet.model(), fleet.new_call_pack()
    assert kept is not None
    assert pack is not None
    intake = queries.frame(fleet.for_one_page()._read().cursor, "causes/intake", {"call_ids": []})
    return Fitted(kept, json.loads(json.dumps(pack, allow_nan=False)), with_odd_ones(sampled(intake)))


def sampled(intake: pl.DataFrame) -> pl.DataFrame:
    """Some calls; none whose filter was changed since the trouble began: a page knows the last change."""
    began, age = pl.col("filter_age_began_days"), pl.col("filter_age_days")
    lasted = pl.col("problem_duration_days")
    changed_since = began.is_not_null() & (began > age) | began.is_null() & (lasted >= age)
    return intake.filter(~changed_since.fill_null(False)).sample(CALLS, seed=5)


def with_odd_ones(intake: pl.DataFrame) -> pl.DataFrame:
    """Add a call with no complaint, one with a complaint never met, one of which nothing else is known, and
    one with an answer never met."""
    some = intake.head(4)
    symptoms = pl.List(pl.String)
    asked = [name for name in (*ANSWERS, *UNIT_FACTS) if name != "filter_last_changed"]
    odd = [
        some[0].with_columns(pl.lit([], symptoms).alias("symptoms")),
        some[1].with_columns(pl.lit(["cloudy", "grinding", "knock", "no_ice"], symptoms).alias("symptoms")),
        some[2].with_columns(
            pl.lit(None, some.schema[name]).alias(name) for name in (*asked, *KNOWN_AMOUNTS)
        ),
        some[3].with_columns(
            pl.lit("constructor").alias("mould_state")  # a word that every object of the browser knows
        ),
    ]
    return pl.concat([intake, *odd])


def as_answers(features: pl.DataFrame) -> list[Answers]:
    """Features as the browser has them: texts, symptoms as yes or no, nothing where nothing is known."""

    def text(name: str, value: Any) -> str:
        return ("yes" if value else "no") if name.startswith(SYMPTOM) else str(value)

    rows = features.iter_rows(named=True)
    return [{name: text(name, value) for name, value in row.items() if value is not None} for row in rows]


def as_told(intake: pl.DataFrame) -> list[dict[str, Any]]:
    """What is said on the telephone, and what the records know, before anything is made of it."""
    told = []
    for row in intake.iter_rows(named=True):
        said = {f"{SYMPTOM}{code}": "yes" for code in row["symptoms"]}
        said |= {name: row[name] for name in ANSWERS if row[name] not in (None, "no_filter")}
        said |= {name: str(row[name]) for name in TOLD_AMOUNTS if row[name] is not None}
        known = {name: row[name] for name in UNIT_FACTS if row[name] is not None}
        known |= {name: str(row[name]) for name in KNOWN_AMOUNTS if row[name] is not None}
        told.append({"said": said, "known": known, "day": row["opened_at"].isoformat()})
    return told


def in_browser(model: CauseModel, pack: dict[str, Any], answers: list[Answers], **twin: Any) -> Floats:
    """Chances, shape (n, causes), from answers as the model knows them."""
    expression = "answers.map((each) => serviceCalls.likelihood(pack, each))"
    return as_rows(model, answer(FILES, expression, pack=pack, answers=answers, **twin))


def as_rows(model: CauseModel, found: list[dict[str, float]]) -> Floats:
    return np.array([[each.get(code, 0.0) for code in model.codes] for each in found])


def chances_agree(model: CauseModel, pack: dict[str, Any], intake: pl.DataFrame, **twin: Any) -> None:
    found = in_browser(model, pack, as_answers(as_features(intake, model.symptoms)), **twin)
    apart = np.abs(found - model.chances(intake)).max(axis=1)
    assert apart.max() <= MOST_APART, (apart.argmax(), apart.max())


def told_agree(model: CauseModel, pack: dict[str, Any], intake: pl.DataFrame, **twin: Any) -> None:
    """The same from what is said, by way of what the page makes of it."""
    expression = """told.map((each) => serviceCalls.likelihood(
        pack, serviceCalls.told.answers(pack, {said: each.said}, each.known, new Date(each.day))))"""
    found = as_rows(model, answer(FILES, expression, pack=pack, told=as_told(intake), **twin))
    apart = np.abs(found - model.chances(intake)).max(axis=1)
    assert apart.max() <= MOST_APART, (apart.argmax(), apart.max())


def test_chances_agree(fitted: Fitted) -> None:
    chances_agree(fitted.model, fitted.pack, fitted.intake)


def test_chances_agree_from_what_is_said(fitted: Fitted) -> None:
    told_agree(fitted.model, fitted.pack, fitted.intake)


def heated(fitted: Fitted, temperature: float) -> tuple[CauseModel, dict[str, Any]]:
    """The model at another temperature, and a pack of it."""
    classifier = copy.deepcopy(fitted.model.classifier).set_params(temperature=temperature)
    model = CauseModel(classifier, fitted.model.symptoms, fitted.model.codes, fitted.model.rarer)
    return model, {"model": model_in_numbers(classifier, model.codes, model.rarer)}


def test_temperature_is_heeded_and_a_pack_without_it_is_caught(fitted: Fitted) -> None:
    model, pack = heated(fitted, 1.5)
    chances_agree(model, pack, fitted.intake)
    pack["model"]["temperature"] = 1.0
    with pytest.raises(AssertionError):
        chances_agree(model, pack, fitted.intake)


def without_season(pack: dict[str, Any]) -> None:
    del pack["model"]["levels"]["season"]


def without_levels_never_met(pack: dict[str, Any]) -> None:
    del pack["model"]["other"]


def symptoms_by_number(pack: dict[str, Any]) -> None:
    for name, effects in pack["model"]["levels"].items():
        if name.startswith(SYMPTOM) and "yes" in effects:
            effects["1"] = effects.pop("yes")


def unknown_as_never_met(pack: dict[str, Any]) -> None:
    for name, effects in pack["model"]["levels"].items():
        effects[""] = pack["model"]["other"][name]


def curves_by_their_ends(pack: dict[str, Any]) -> None:
    for smooth in pack["model"]["smooth"].values():
        smooth["at"], smooth["effects"] = (
            smooth["at"][:: len(smooth["at"]) - 1],
            smooth["effects"][:: len(smooth["effects"]) - 1],
        )


def rarer_dropped(pack: dict[str, Any]) -> None:
    pack["model"]["rarer"] = {}


@pytest.mark.parametrize(
    "breaks",
    [
        without_season,
        without_levels_never_met,
        symptoms_by_number,
        unknown_as_never_met,
        curves_by_their_ends,
        rarer_dropped,
    ],
)
def test_a_pack_that_is_wrong_is_caught(fitted: Fitted, breaks: Any) -> None:
    pack = copy.deepcopy(fitted.pack)
    breaks(pack)
    with pytest.raises(AssertionError):
        chances_agree(fitted.model, pack, fitted.intake)


@pytest.mark.parametrize(
    "replaced",
    [
        ("return name.slice(SYMPTOM.length);", "return name;"),
        ('? "yes" : "no"; } else', '? "yes" : "yes"; } else'),
        ("+ 1) % 12) / 3", "+ 4) % 12) / 3"),
        ("Number(all.filter_age_days) - Number(lasted)", "Number(all.filter_age_days)"),
        ('all.filter_last_changed = "no_filter"', 'all.filter_last_changed = "dont_know"'),
        ("levels.hasOwnProperty(value) && levels[value]", "levels[value]"),
    ],
    ids=["complaint", "all symptoms", "another season", "age at the call", "a filter", "a word of objects"],
)
def test_a_page_that_makes_something_else_of_it_is_caught(fitted: Fitted, replaced: tuple[str, str]) -> None:
    with pytest.raises(AssertionError):
        told_agree(fitted.model, fitted.pack, fitted.intake, replaced=replaced)


def reasons(fitted: Fitted, **twin: Any) -> tuple[list[dict[str, float]], list[dict[str, float]]]:
    """Answers given that moved the likeliest cause, by effect: of the library, and of the browser."""
    model = fitted.model
    features = as_features(fitted.intake, model.symptoms)
    answers = as_answers(features)
    likeliest = [model.codes[at] for at in model.chances(fitted.intake).argmax(axis=1)]
    known = [at for at, code in enumerate(likeliest) if code in model.classifier.classes_]
    ours = [moved(model.classifier, features[at], likeliest[at])[0] for at in known]
    expression = "answers.map((each, at) => serviceCalls.moved(pack, each, codes[at]))"
    asked = {"answers": [answers[at] for at in known], "codes": [likeliest[at] for at in known]}
    theirs = answer(FILES, expression, pack=fitted.pack, **asked, **twin)
    return (
        [
            {each.answer: each.by for each in some if each.answer in answers[at]}
            for at, some in zip(known, ours, strict=True)
        ],
        [{each["field"]: each["effect"] for each in some} for some in theirs],
    )


def reasons_agree(fitted: Fitted, **twin: Any) -> None:
    """The library names answers left open too, the browser those given alone."""
    same = []
    for ours, theirs in zip(*reasons(fitted, **twin), strict=True):
        assert {name: theirs.get(name) for name in ours} == pytest.approx(ours, abs=0.05)
        first = [name for name, by in theirs.items() if abs(by) >= LEAST_LOG_ODDS][:MOST_NAMED]
        same.append(set(ours) <= set(first))
    assert len(same) > CALLS / 2
    assert np.mean(same) >= 0.9


def test_the_same_answers_are_named_as_reasons(fitted: Fitted) -> None:
    reasons_agree(fitted)


@pytest.mark.parametrize(
    "replaced",
    [
        ("(mean[j] || 0)", "0"),
        ("against[k] - centre", "against[k]"),
        ("Math.abs(b.effect) - Math.abs(a.effect)", "b.effect - a.effect"),
    ],
    ids=["not against the average", "what moves all alike", "those against it last"],
)
def test_other_reasons_are_caught(fitted: Fitted, replaced: tuple[str, str]) -> None:
    with pytest.raises(AssertionError):
        reasons_agree(fitted, replaced=replaced)


def orders_agree(fitted: Fitted, pack: dict[str, Any]) -> None:
    """Orders from the same chances; where rounding turns two round, they cost the same."""
    model = fitted.model
    facts, _ = facts_kept(load_catalogue(), fitted.kept)
    assert [each["code"] for each in pack["checks"]] == list(facts.codes)
    chances = model.chances(fitted.intake)[-ORDERS:]
    posteriors = [dict(zip(model.codes, row.tolist(), strict=True)) for row in chances]
    same = []
    for row, theirs in zip(chances, run([("order", [pack, each, {}]) for each in posteriors]), strict=True):
        ours = order_of_checks(facts, row)
        assert theirs["expected_minutes"] == pytest.approx(ours.expected_minutes, abs=0.05)
        assert minutes_of(facts, row, theirs["sequence"]) == pytest.approx(ours.expected_minutes, abs=0.05)
        same.append(tuple(theirs["sequence"]) == ours.sequence)
    assert np.mean(same) >= 0.8


def test_orders_of_checks_agree(fitted: Fitted) -> None:
    orders_agree(fitted, fitted.pack)


def test_a_pack_of_other_checks_is_caught(fitted: Fitted) -> None:
    pack = copy.deepcopy(fitted.pack)
    for check in pack["checks"]:
        check["setups"] = []
    with pytest.raises(AssertionError):
        orders_agree(fitted, pack)


def test_pack_is_small_and_stays_so_with_many_kinds_of_complaint(fitted: Fitted) -> None:
    """A fleet of 30,000 calls has 406 kB too: what could grow is the number of complaints, and causes."""
    assert len(json.dumps(fitted.pack)) < MOST_BYTES
    assert len(fitted.pack["model"]["levels"][COMPLAINT]) <= 42
