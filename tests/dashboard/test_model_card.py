"""The model card: what it says of the model, when to distrust it, and its files."""

import csv
import io

import pytest
from flask.testing import FlaskClient

from analytics.causes.card import card
from dashboard.app import draw
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import text

FLEET = FakeFleet


def words(**how: bool) -> str:
    fleet = FLEET()
    for name, value in how.items():
        setattr(fleet, name, value)
    return text(draw(fleet, "/model-card", "")[0])  # type: ignore[arg-type]


def test_it_answers_in_a_sentence_and_says_what_it_is_for() -> None:
    said = words()
    assert "On 2,000 later calls, what it turned out to be was the likeliest cause in 53.0%" in said
    assert "(95% interval 51.0 to 55.0%), and among the three likeliest in 80.0%" in said
    assert "not made to judge people" in said
    assert "the answers tell more, and more than chance" in said


def test_a_model_that_is_no_better_is_not_to_be_relied_on() -> None:
    said = words(beaten=False)
    assert "do not rely on it" in said
    assert "more than chance." not in said


def test_drift_is_said() -> None:
    said = words(drifted=True)
    assert "worse than it was found to do: fit it again" in said
    assert "mould state moved (not asked: 40% then, 60% now)" in said
    assert "Nothing was loaded since." in words()


def test_without_a_model_it_says_how_to_fit_one() -> None:
    assert "service-calls fit" in words(fitted=False)


def test_few_calls_are_no_percentage() -> None:
    said = words()
    assert "Broken wire" in said or "harness" in said.lower()
    assert "too few" in said


@pytest.mark.parametrize("table", ["model_scores", "model_calibration", "model_answers", "model_causes"])
def test_its_tables_are_kept(client: FlaskClient, table: str) -> None:
    answer = client.get(f"/export.csv?table={table}")
    assert answer.status_code == 200
    rows = list(csv.reader(io.StringIO(answer.text.removeprefix("\ufeff"), newline="")))
    assert len(rows) > 2


def test_card_in_words_holds_every_number_it_is_made_of() -> None:
    found = FLEET().model_card()
    assert found is not None
    said = card(found, FLEET().labels)
    for each in ("1.500 (1.450 to 1.550)", "53.0% (51.0 to 55.0)", "28.7", "0.700", "21,000", "13,000"):
        assert each in said
    assert said.count("\n## ") == 10
