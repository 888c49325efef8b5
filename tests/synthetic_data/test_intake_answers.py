"""Intake answers: true for the most part, forgotten or blank for the rest."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from synthetic_data.assumptions import load
from synthetic_data.intake import QUESTIONS
from synthetic_data.remembered import filter_texts, freezer_texts, unit_age_texts
from synthetic_data.streams import stream
from synthetic_data.wording import field_words
from tests.synthetic_data.tables import read, repairs


def _coded(fleet: Path, question: str) -> pl.DataFrame:
    """Answers to a question turned back into codes, beside the truth."""
    code_of = {word: code for code, said in field_words(question).items() for word in (*said, code)}
    answers = read(fleet, "calls").select(
        "call_id", answer=pl.col(question).replace_strict(code_of, default=None)
    )
    return repairs(fleet).join(answers.drop_nulls(), on="call_id")


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_question_is_answered_at_times_and_left_blank_at_times(fleet: Path, question: str):
    answered = read(fleet, "calls")[question].is_not_null().mean()
    assert 0.15 < answered < 0.8


def test_moulds_said_to_be_empty_mostly_are(fleet: Path):
    said = _coded(fleet, "mould_state")
    assert said.filter(pl.col("answer") == "empty").select((pl.col("fill_ml") < 12).mean()).item() > 0.7
    assert said.filter(pl.col("answer") == "normal_full").select((pl.col("fill_ml") < 12).mean()).item() < 0.1


def test_ice_in_the_tube_is_seen_where_it_is(fleet: Path):
    said = _coded(fleet, "fill_tube_ice")
    assert said.filter(pl.col("answer") == "yes")["tube_frozen"].mean() > 0.6
    assert said.filter(pl.col("answer") == "no")["tube_frozen"].mean() < 0.1


def test_most_callers_do_not_know_their_shutoff_valve(fleet: Path):
    assert (_coded(fleet, "shutoff_valve")["answer"] == "dont_know").mean() > 0.45  # common practice


def test_a_filter_changed_in_trouble_is_told_as_changed_after_it_began(fleet: Path):
    said = _coded(fleet, "already_tried")
    in_trouble = said.filter("owner_changed_filter_in_trouble", pl.col("failed_visits_before") == 0)
    assert (in_trouble["answer"] == "filter_changed_after").mean() > 0.7
    days = (pl.col("opened_at").dt.date() - pl.col("filter_changed_on")).dt.total_days()
    assert in_trouble.select((days >= 0).all()).item()
    assert in_trouble.select((pl.col("filter_changed_on") >= pl.col("began_at").cast(pl.Date)).all()).item()


def _told_months(age_days: float, size: int) -> np.ndarray:
    opened, none = np.full(size, 20_000.0), np.zeros(size, bool)
    calls = {"opened": opened, "filter_day": opened - age_days}
    texts = filter_texts(stream(1, "test"), calls, {"installed": opened - 4000}, none)
    months = texts.str.extract(r"^(?:about )?(\d+) (?:months|mo|mths)").cast(pl.Float64)
    return months.drop_nulls().to_numpy()


def test_filters_are_remembered_as_younger_than_they_are():
    told = _told_months(500.0, 4_000)
    assert len(told) > 500
    assert np.median(told) < 500 / 30.4375
    assert np.median(told) > 0.6 * 500 / 30.4375


def test_dated_answers_name_the_day_itself():
    opened = np.full(2_000, 20_000.0)
    calls = {"opened": opened, "filter_day": opened - 60}
    texts = filter_texts(stream(1, "test"), calls, {"installed": opened - 4000}, np.zeros(2_000, bool))
    dated = texts.filter(texts.str.contains(r"^\d{4}-\d\d-\d\d$")).str.to_date()
    day = pl.Series([19_940]).cast(pl.Int32).cast(pl.Date)[0]
    assert len(dated) > 200
    assert set(dated) == {day}
    assert day + timedelta(days=60) == pl.Series([20_000]).cast(pl.Int32).cast(pl.Date)[0]


def test_an_answer_not_noted_is_null():
    blank = np.array([True, False])
    assert unit_age_texts(stream(1, "test"), np.array([5.0, 5.0]), blank).is_null().to_list() == [True, False]
    assert freezer_texts(stream(1, "test"), np.array([True, True]), blank).is_null().to_list() == [
        True,
        False,
    ]


def test_soft_food_tells_of_a_warm_freezer():
    warm = np.tile([True, False], 3_000)
    texts = freezer_texts(stream(1, "test"), warm, np.zeros(6_000, bool))
    soft = texts.is_in(["food soft", "food_soft", "ice cream soft", "meat is soft", "thawing"]).to_numpy()
    assert soft[warm].mean() > 0.2
    assert soft[~warm].mean() == 0
    assert load()["callers"]["freezer_answer"]["soft_when_warm"] < 1
