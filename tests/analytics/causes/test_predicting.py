"""From a call to causes, checks, questions and parts: what comes first, what is enough, what is asked."""

from collections.abc import Callable
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics.causes import predicting as module
from analytics.causes.answers import ANSWERS
from analytics.causes.classifier import CauseClassifier
from analytics.causes.explaining import moved
from analytics.causes.facts import CheckFacts
from analytics.causes.features import as_features, withheld
from analytics.causes.model import CauseModel, fitted
from analytics.causes.predicting import Prediction, answered_by_cause, for_the_day, predict
from analytics.causes.van_parts import PartFacts
from tests.analytics.causes.made_episodes import CODES, SYMPTOMS, episodes
from tests.analytics.causes.test_cause_model import Says

FACTS = CheckFacts(
    codes=("look", "test", "probe"), causes=CODES, minutes=np.array([5.0, 10.0, 4.0]),
    beside_minutes=np.zeros(3), setups=((), (), ()), setup_minutes={},
    reveals=np.array([[0.9, 0, 0, 0.5], [0, 0.9, 0.4, 0], [0, 0, 0.8, 0]]), false_findings=np.full(3, 0.02),
    second_visit_minutes=60.0,
)  # fmt: skip
PARTS = PartFacts.of({"new_valve": (["valve"], 40.0), "new_filter": (["filter"], 20.0)}, CODES, ["drain"])
LEARNED = episodes(600).with_columns(
    dispenser_flow=pl.when(pl.int_range(pl.len()) % 2 == 0).then(pl.lit("slow")).otherwise(pl.lit("fast"))
)


@pytest.fixture(scope="module")
def model() -> CauseModel:
    return fitted(CauseClassifier(), LEARNED, CODES, SYMPTOMS)


def rung_in(**columns: Any) -> pl.DataFrame:
    """One call, of which only what is given is known."""
    blank = LEARNED.head(1).with_columns(
        pl.lit(None, LEARNED.schema[name]).alias(name) for name in (*ANSWERS, "symptoms")
    )
    return blank.with_columns(
        pl.Series(name, [value], dtype=LEARNED.schema[name]) for name, value in columns.items()
    )


def predicted(model: CauseModel, rows: pl.DataFrame, share: float = 0.8) -> list[Prediction]:
    return predict(model, rows, FACTS, PARTS, answered_by_cause(LEARNED, CODES), share)


def test_likeliest_first(model: CauseModel) -> None:
    rows = episodes(20, seed=4)
    found = predicted(model, rows)
    chances = model.chances(rows)
    assert [each.call_id for each in found] == rows["call_id"].to_list()
    for each, one in zip(found, chances, strict=True):
        assert dict(each.causes) == pytest.approx(dict(zip(CODES, one, strict=True)))
        given = [chance for _, chance in each.causes]
        assert given == sorted(given, reverse=True)
        assert sum(given) == pytest.approx(1)
        assert set(each.order.sequence) <= set(FACTS.codes)
        assert each.apart is None or each.apart.check in FACTS.codes


def test_what_stands_first_in_the_catalogue_wins_a_tie() -> None:
    level = CauseModel(Says(drain=0.25, valve=0.25, module=0.25, filter=0.25), SYMPTOMS, CODES, np.zeros(4))
    (found,) = predicted(level, rung_in())
    assert [code for code, _ in found.causes] == list(CODES)
    assert found.moved == []  # a model that gives no reasons


def shares(*given: float) -> CauseModel:
    """Chances of many causes, the rest of it spread over the others."""
    codes = tuple(f"k{n}" for n in range(10))
    rest = (1 - sum(given)) / (10 - len(given))
    all_of_them = [*given, *[rest] * (10 - len(given))]
    return CauseModel(Says(**dict(zip(codes, all_of_them, strict=True))), SYMPTOMS, codes, np.zeros(10))


def check_enough() -> None:
    """Three causes with 60% together, and two answers: the complaint is one, "don't know" is none."""
    enough: Callable[[CauseModel, pl.DataFrame], bool] = lambda model, rows: module._enough(  # noqa: E731
        as_features(rows, SYMPTOMS), model.chances(rows)[0]
    )
    two = rung_in(symptoms=["no_ice"], mould_state="empty")
    assert enough(shares(0.3, 0.2, 0.11), two)
    assert not enough(shares(0.3, 0.2, 0.09), two)
    sure = shares(0.9)
    assert enough(sure, two)
    assert enough(sure, rung_in(mould_state="empty", switch_on="yes"))
    assert not enough(sure, rung_in(symptoms=["no_ice"]))
    assert not enough(sure, rung_in(symptoms=["no_ice"], mould_state="dont_know", switch_on="dont_know"))
    assert not enough(sure, rung_in(mould_state="empty"))
    assert not enough(sure, rung_in())


def test_what_is_enough_to_tell() -> None:
    check_enough()


@pytest.mark.parametrize(("name", "value"), [("ENOUGH", 0.5), ("LEAST_ANSWERED", 1), ("DONT_KNOW", "?")])
def test_less_than_enough_is_caught(name: str, value: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, name, value)
    with pytest.raises(AssertionError):
        check_enough()


def check_questions(model: CauseModel) -> None:
    """Only of the mould and the flow anything is known; asked is what was not answered."""
    fields = {each.field for each in predicted(model, rung_in())[0].questions}
    assert fields == {"mould_state", "dispenser_flow"}
    (told,) = predicted(model, rung_in(mould_state="empty"))
    assert [each.field for each in told.questions] == ["dispenser_flow"]
    (both,) = predicted(model, rung_in(mould_state="dont_know", dispenser_flow="slow"))
    assert both.questions == []


def test_only_what_was_not_answered_is_asked(model: CauseModel) -> None:
    check_questions(model)
    saves = predicted(model, rung_in())[0].questions
    assert [each.field for each in saves] == ["mould_state", "dispenser_flow"]  # the flow tells nothing here
    assert saves[0].saves_minutes > saves[1].saves_minutes


def test_asking_again_is_caught(model: CauseModel, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = module._open_questions

    def forgetful(model: CauseModel, row: pl.DataFrame, *more: Any) -> Any:
        forgotten = row.with_columns(pl.lit(None, row.schema["mould_state"]).alias("mould_state"))
        return asked(model, forgotten, *more)

    monkeypatch.setattr(module, "_open_questions", forgetful)
    with pytest.raises(AssertionError):
        check_questions(model)


def test_what_an_answer_would_change_is_what_it_changes(model: CauseModel) -> None:
    row = rung_in(symptoms=["no_ice"])
    one = as_features(row, SYMPTOMS)
    answered = answered_by_cause(LEARNED, CODES)
    found = module._open_questions(model, one, model.chances(row)[0], answered)
    likely, after = found["mould_state"]
    levels = ["empty", "full", "hollow", "wet"]
    assert likely.sum() == pytest.approx(1)
    chance = dict(zip(CODES, model.chances(row)[0], strict=True))
    told = [sum(answered["mould_state"][code][level] * chance[code] for code in CODES) for level in levels]
    assert likely == pytest.approx(np.array(told) / sum(told))
    for level, chances in zip(levels, after, strict=True):
        asked = row.with_columns(mould_state=pl.lit(level))
        assert chances == pytest.approx(model.chances(asked)[0], abs=1e-6)


def test_parts(model: CauseModel) -> None:
    """The filter alone where it is likely enough; with the valve for more; modules no part answers."""
    likely = CauseModel(Says(filter=0.5, valve=0.25, drain=0.15, module=0.1), SYMPTOMS, CODES, np.zeros(4))
    few, more = (predicted(likely, rung_in(), share)[0].parts for share in (0.6, 0.9))
    assert (few.parts, few.cost) == (("new_filter",), 20)
    assert few.share == pytest.approx(0.65)  # a drain needs no part
    assert (more.parts, more.cost, more.not_coverable) == (("new_valve", "new_filter"), 60, ("module",))
    assert more.share == pytest.approx(0.9)
    day = for_the_day([predicted(likely, rung_in())[0]] * 3, PARTS)
    assert set(day) <= set(PARTS.codes)
    assert all(0 < count <= 3 for count in day.values())
    assert for_the_day([], PARTS) == {}


def test_reasons_are_those_of_the_likeliest(model: CauseModel) -> None:
    row = rung_in(symptoms=["no_ice"], mould_state="empty")
    (found,) = predicted(model, row)
    assert found.moved == moved(model.classifier, as_features(row, SYMPTOMS), found.causes[0][0])[0]


def check_answered() -> None:
    """Of six asked four said empty; a said it three times of three, b once of three, c was never asked."""
    rows = episodes(8).with_columns(
        final_cause=pl.Series(["a"] * 4 + ["b"] * 4),
        mould_state=pl.Series(["empty", "empty", "empty", None, "empty", "full", "full", None]),
    )
    found = answered_by_cause(rows, ("a", "b", "c"))
    assert set(found) == {"mould_state"}
    empty = {cause: levels["empty"] for cause, levels in found["mould_state"].items()}
    expected = {"a": (3 + 5 * 4 / 6) / 8, "b": (1 + 5 * 4 / 6) / 8, "c": 4 / 6}
    assert empty == pytest.approx(expected, abs=1e-5)


def test_answers_by_cause() -> None:
    check_answered()
    for by_cause in answered_by_cause(LEARNED, CODES).values():
        assert set(by_cause) == set(CODES)
        for levels in by_cause.values():
            assert sum(levels.values()) == pytest.approx(1, abs=1e-4)


def test_answers_pulled_otherwise_are_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PULL", 0.01)
    with pytest.raises(AssertionError):
        check_answered()


def check_features() -> None:
    rows = rung_in(symptoms=["water_slow", "no_ice"], mould_state="wet", filter_last_changed="season")
    found = as_features(rows, SYMPTOMS).row(0, named=True)
    assert found["complaint"] == "no_ice+water_slow"
    assert [found[f"symptom:{code}"] for code in SYMPTOMS] == [1, 1, 0]
    assert (found["mould_state"], found["filter_last_changed"], found["season"]) == (
        "wet",
        "season",
        "winter",
    )
    assert found["filter_age_days"] is not None
    blank = as_features(rung_in(), SYMPTOMS).row(0, named=True)
    assert blank["complaint"] is None
    assert [blank[f"symptom:{code}"] for code in SYMPTOMS] == [0, 0, 0]


def test_features() -> None:
    check_features()


def test_an_answer_withheld_takes_what_it_told_along() -> None:
    rows = rung_in(symptoms=["no_ice"], mould_state="wet", filter_last_changed="season")
    whole = as_features(rows, SYMPTOMS)

    def differ(answer: str) -> set[str]:
        less = withheld(whole, answer)
        assert less.schema == whole.schema
        return {name for name in whole.columns if less[name].item() != whole[name].item()}

    assert differ("complaint") == {"complaint", "symptom:no_ice"}
    assert differ("mould_state") == {"mould_state"}
    assert differ("filter_last_changed") == {
        "filter_last_changed",
        "filter_age_days",
        "filter_age_began_days",
    }
    assert differ("switch_on") == set()
