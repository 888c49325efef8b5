"""What the calls of a phrase say about its meaning, worked by hand; and what is learnt from it."""

from math import log

import polars as pl
import pytest

from analytics.intake.phrase_evidence import PULL, CallEvidence, Turned
from analytics.intake.proposing_phrases import Proposer, understood

SCHEMA = {
    "text": pl.String,
    "code": pl.String,
    "kind": pl.String,
    "fact": pl.String,
    "calls": pl.Int64,
    "known_calls": pl.Int64,
}
KNOWN = [
    (None, "no_ice", "cause", "tube", 60, 80),
    (None, "no_ice", "cause", "filter", 20, 80),
    (None, "leak", "cause", "tube", 4, 80),
    (None, "leak", "cause", "hose", 76, 80),
]
PHRASE = [("kein Eis", None, "cause", "tube", 8, 10), ("kein Eis", None, "cause", "filter", 2, 10)]
PHRASES = [("no ice", "no_ice"), ("water on the floor", "leak")]


def evidence(*rows: tuple[object, ...]) -> CallEvidence:
    return CallEvidence(pl.DataFrame(rows, schema=SCHEMA, orient="row"))


def test_without_any_calls_nothing_speaks() -> None:
    nothing = evidence()
    assert nothing.codes == []
    assert nothing.labelled() == []
    assert nothing.turned_out("kein Eis") == []
    assert nothing.alike("kein Eis", "no_ice") is None
    assert len(nothing.support("kein Eis")) == 0


def test_support_is_the_likelihood_worked_by_hand() -> None:
    # averages of 160 calls: tube 0.4, filter 0.125; ten calls are pulled from them; 10 calls count as 7.5
    tube, few = (60 + PULL * 0.4) / 90, (20 + PULL * 0.125) / 90
    wanted = 0.75 * (8 * log(tube / 0.4) + 2 * log(few / 0.125))
    each = evidence(*KNOWN, *PHRASE)
    support = dict(zip(each.codes, each.support("kein Eis"), strict=True))
    assert support["no_ice"] == pytest.approx(wanted)
    assert support["leak"] < 0


def test_a_phrase_is_told_with_its_counts() -> None:
    each = evidence(*KNOWN, *PHRASE)
    assert each.turned_out("kein Eis") == [Turned("cause", "tube", 8, 10)]
    found = each.alike("kein Eis", "no_ice")
    assert found is not None
    assert (found.phrase, found.meaning) == (Turned("cause", "tube", 8, 10), Turned("cause", "tube", 60, 80))
    assert found.others == Turned("cause", "tube", 4, 80)
    assert each.alike("kein Eis", "leak") is None
    assert each.alike("kein Eis", "no such") is None


def test_labels_weigh_less_than_texts_that_are_known() -> None:
    (label,) = evidence(*KNOWN, *PHRASE).labelled()
    assert label[:2] == ("kein Eis", "no_ice")
    assert 0 < label[2] < 1


def test_calls_that_do_not_tell_the_meaning_are_not_believed() -> None:
    right = {"no_ice": "tube", "leak": "hose"}
    trials = [(f"{code} {n}", code, "cause", fact, 5, 5) for code, fact in right.items() for n in range(10)]
    assert evidence(*KNOWN, *trials).trust == {"cause": 1.0}
    other = {"no_ice": "leak", "leak": "no_ice"}
    turned_round = [(text, other[code], kind, fact, 1, 1) for text, code, kind, fact, *_ in trials]
    assert evidence(*KNOWN, *turned_round).trust == {"cause": 0.0}


def test_what_calls_turned_out_to_be_counts_beside_the_words() -> None:
    texts, codes = [text for text, _ in PHRASES], [code for _, code in PHRASES]
    proposer = Proposer(texts, codes, evidence(*KNOWN, *PHRASE))
    assert proposer.propose(["kein Eis"])[0][0].code == "no_ice"
    leaking = [("kein Eis", None, "cause", "hose", 10, 10)]
    assert Proposer(texts, codes, evidence(*KNOWN, *leaking)).propose(["kein Eis"])[0][0].code == "leak"


def test_words_of_one_phrase_help_the_next() -> None:
    texts, codes = [text for text, _ in PHRASES], [code for _, code in PHRASES]
    others = [("läuft aus", None, "cause", "hose", 30, 30), ("kommt nichts", None, "cause", "tube", 30, 30)]
    proposer = Proposer(texts, codes, evidence(*KNOWN, *others))
    asked = ["läuft hinten aus", "es kommt nichts"]
    assert [three[0].code for three in proposer.propose(asked)] == ["leak", "no_ice"]


def test_each_meaning_comes_with_its_reason() -> None:
    each = evidence(*KNOWN, *PHRASE)
    proposer = Proposer([text for text, _ in PHRASES], [code for _, code in PHRASES], each)
    (found,) = understood(proposer, each, PHRASES, ["kein Eis"])
    assert [meaning.code for meaning in found.meanings] == ["no_ice", "leak"]
    assert found.meanings[0].alike is not None
    assert (found.meanings[1].alike, found.meanings[1].like) == (None, "water on the floor")
