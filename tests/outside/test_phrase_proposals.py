"""Proposals for phrases, measured on phrases that neither the catalogue's writer nor the model has seen.

The phrases are those of tests/outside/test_phrases.py with one code. The half that may be read is learnt from
together with the catalogue's own phrases, the other half is measured: the halves are parted by a hash of the
text, so that no phrase is in both. Beside it stands the nearest phrase by the plain edit ratio.

`python tests/outside/test_phrase_proposals.py` prints the table of docs/phrases_measured.md.
"""

import random
from functools import cache
from pathlib import Path

import pytest

from analytics.catalogue import load_catalogue
from analytics.intake.proposing_phrases import Proposer, catalogue_phrases, nearest
from tests.outside.test_phrases import PAGE, phrases

FIELDS = ("complaint", "root_cause", "outcome")
SEED = 0
HEADER = (
    "| field | phrases | nearest, first | nearest, first three | proposed, first | proposed, first three |\n"
    "| --- | ---: | ---: | ---: | ---: | ---: |"
)


def of_one_code(field: str, which: str) -> list[tuple[str, str]]:
    codes = load_catalogue().coded(field)
    rows = [
        (text, next(iter(found))) for each, text, found in phrases(which) if each == field and len(found) == 1
    ]
    return [(text, code) for text, code in rows if code in codes]


@cache
def measured(field: str, shuffled: bool = False) -> tuple[int, int, int, int, int]:
    """Phrases; hits of the nearest phrase, first and first three; hits of the model, the same."""
    own = catalogue_phrases(load_catalogue(), field)
    known, asked = [*own, *of_one_code(field, "development")], of_one_code(field, "measuring")
    assert not {text.strip().lower() for text, _ in asked} & {
        text.strip().lower() for text, _ in known[len(own) :]
    }
    codes = [code for _, code in known]
    if shuffled:
        random.Random(SEED).shuffle(codes)
    proposed = Proposer([text for text, _ in known], codes).propose([text for text, _ in asked])
    found = [[each.code for each in three] for three in proposed]
    near = [nearest(known, text) for text, _ in asked]
    wanted = [code for _, code in asked]
    return (
        len(asked),
        sum(code == each[0] for code, each in zip(wanted, near, strict=True)),
        sum(code in each for code, each in zip(wanted, near, strict=True)),
        sum(code == each[0] for code, each in zip(wanted, found, strict=True)),
        sum(code in each for code, each in zip(wanted, found, strict=True)),
    )


def line(field: str) -> str:
    return f"| {field} | " + " | ".join(map(str, measured(field))) + " |"


@pytest.mark.parametrize("field", FIELDS)
def test_the_page_says_what_is_measured(field: str) -> None:
    assert line(field) in Path(PAGE).read_text(encoding="utf-8")


@pytest.mark.parametrize("field", ["complaint", "root_cause"])
def test_the_right_meaning_is_more_often_among_three_proposals_than_among_the_nearest(field: str) -> None:
    _, _, near, _, proposed = measured(field)
    assert proposed > near


def test_with_the_meanings_shuffled_nothing_is_gained() -> None:
    for field in ("complaint", "root_cause"):
        _, _, near, _, proposed = measured(field, shuffled=True)
        assert proposed < near / 2, field


if __name__ == "__main__":
    print(HEADER)
    for each in FIELDS:
        print(line(each), measured(each, shuffled=True)[3:])
