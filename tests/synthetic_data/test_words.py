"""Phrases: every code has some, none stands for two codes, and typing errors stay typing errors."""

import numpy as np
import pytest
from rapidfuzz.distance import OSA

from synthetic_data.call_rows import PAYERS
from synthetic_data.calls import JOBS, OUTCOMES
from synthetic_data.diagnosis import FINDINGS
from synthetic_data.follow_ups import ANSWERS
from synthetic_data.streams import stream
from synthetic_data.trade import trade
from synthetic_data.visits import RESULTS
from synthetic_data.wording import Phrases, field_words, misspell, say, words

FIELDS = {
    "root_cause": trade().causes,
    "outcome": OUTCOMES,
    "visit_result": RESULTS,
    "check": trade().checks,
    "part": trade().parts,
    "finding": FINDINGS,
    "job_kind": JOBS,
    "payer": PAYERS,
    "follow_up_answer": ANSWERS,
}


@pytest.mark.parametrize("field", FIELDS)
def test_every_code_has_phrases(field: str):
    assert set(field_words(field)) == set(FIELDS[field])
    assert all(len(phrases) >= 2 for phrases in field_words(field).values())


def test_every_symptom_has_phrases():
    spoken = words("complaints")
    assert set(spoken) - {"around"} == set(trade().symptoms)
    assert all(len(spoken[code]) >= 5 for code in trade().symptoms)


@pytest.mark.parametrize("field", [*FIELDS, *words("answers")])
def test_no_phrase_stands_for_two_codes(field: str):
    phrases = [phrase.lower() for said in field_words(field).values() for phrase in said]
    assert len(phrases) == len(set(phrases))


def test_no_complaint_stands_for_two_symptoms():
    phrases = [phrase.lower() for code in trade().symptoms for phrase in words("complaints")[code]]
    assert len(phrases) == len(set(phrases))


def test_a_typing_error_is_one_edit_away():
    rng = stream(1, "test")
    for phrase in words("complaints")["no_ice"]:
        for _ in range(20):
            # restricted Damerau-Levenshtein: one letter dropped, added or two swapped
            assert OSA.distance(phrase, misspell(phrase, rng)) <= 1


def test_levels_are_said_in_their_own_phrases():
    phrases = Phrases([["one", "two"], ["three"]], "test")
    drawn = phrases.draw(stream(1, "test"), np.array([0, 0, 1, 1]), misspelt=0.0)
    texts = phrases.texts.gather(drawn).to_list()
    assert set(texts[:2]) <= {"one", "two"}
    assert texts[2:] == ["three", "three"]


def test_a_stated_share_is_written_as_the_code_and_blanks_stay_blank():
    level = np.tile([0, -1], 5_000)
    texts = say(stream(1, "test"), "outcome", OUTCOMES, level, 0.4, 0.0)
    assert texts.null_count() == 5_000
    # 5,000 draws at 0.4: standard deviation 0.007
    assert (texts.drop_nulls() == "repaired").mean() == pytest.approx(0.4, abs=0.03)
