"""What learning from the final causes brings, measured on phrases in the calls of an invented fleet.

The fleet and its assumptions: tests/outside/jargon_fleet.py. The settings of analytics/intake/phrase_evidence.py
were chosen on the office's phrases of the half "development"; counted here is the half "measuring". The 105
complaints are those of tests/outside/test_phrase_proposals.py, with the same texts to learn from, so that "words
alone" is what stood there before. The texts of other fields were looked at while choosing how to tell where calls
say little; they show that no harm is done, and no more.

`python -m tests.outside.test_phrases_in_calls FOLDER` makes the fleet in a new folder and prints the table of
docs/phrases_measured.md.
"""

import random
import sys
from functools import cache
from pathlib import Path

import polars as pl
import pytest

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.intake.phrase_evidence import TRIALS, CallEvidence
from analytics.intake.proposing_phrases import MOST_TEXTS, Proposer, catalogue_phrases
from tests.building import built_once
from tests.outside import jargon_fleet
from tests.outside.jargon_fleet import FIELDS, OTHERS, Phrases, own_words
from tests.outside.test_phrase_proposals import SEED, of_one_code
from tests.outside.test_phrases import PAGE

HELD_OUT = "the 105 complaints"
OWN = "in the office's own words"
NEW = "the same, nothing known of their calls"
OTHER = "misspelt or joined, as before"
HEADER = (
    "| field | asked | phrases | words alone, first | first three | with final causes, first | first three | "
    "shuffled, first | first three |\n"
    "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
)
Hits = tuple[int, int]


def build(folder: Path) -> None:
    jargon_fleet.build(folder, of_one_code("complaint", "measuring"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built_once(tmp_path_factory, "fleet_with_jargon", build)


@cache
def facts_of(folder: Path, field: str) -> pl.DataFrame:
    cursor = jargon_fleet.fleet_of(folder)._read().cursor
    return queries.frame(cursor, "lists/phrase_facts", {"field": field, "trials": TRIALS})


@cache
def recognised(folder: Path, field: str) -> Phrases:
    cursor = jargon_fleet.fleet_of(folder)._read().cursor
    return queries.frame(cursor, "lists/recognised", {"field": field, "limit": MOST_TEXTS}).rows()


def shuffled(facts: pl.DataFrame) -> pl.DataFrame:
    """Give the calls of each phrase those of another."""
    texts = facts["text"].drop_nulls().unique().sort().to_list()
    others = random.Random(SEED).sample(texts, len(texts))
    return facts.with_columns(
        pl.col("text").replace_strict(dict(zip(texts, others, strict=True)), default=None)
    )


def hits(proposer: Proposer, asked: Phrases) -> Hits:
    """How often the right meaning comes first, and among the first three."""
    found = [[each.code for each in three] for three in proposer.propose([text for text, _ in asked])]
    right = [code for _, code in asked]
    return (
        sum(code == codes[0] for code, codes in zip(right, found, strict=True)),
        sum(code in codes for code, codes in zip(right, found, strict=True)),
    )


def compared(known: Phrases, facts: pl.DataFrame, asked: Phrases) -> tuple[Hits, Hits, Hits]:
    """Hits of the words alone, with what the calls turned out to be, and with that shuffled."""
    texts, codes = [text for text, _ in known], [code for _, code in known]
    ways = (None, CallEvidence(facts), CallEvidence(shuffled(facts)))
    alone, with_causes, broken = (hits(Proposer(texts, codes, each), asked) for each in ways)
    return alone, with_causes, broken


@cache
def measured(folder: Path, field: str, which: str) -> tuple[int, Hits, Hits, Hits]:
    """Phrases asked; hits in the three ways."""
    catalogue, facts = catalogue_phrases(load_catalogue(), field), facts_of(folder, field)
    known = [*recognised(folder, field), *catalogue]
    if which == OTHER:
        asked = jargon_fleet.others_of(folder)[field]
    elif which == HELD_OUT:
        asked, known = of_one_code(field, "measuring"), [*catalogue, *of_one_code(field, "development")]
    else:
        asked = own_words(field, "measuring")
    if which == NEW:
        texts = [text for text, _ in asked]
        facts = facts.filter(pl.col("text").is_null() | ~pl.col("text").is_in(texts))
    return len(asked), *compared(known, facts, asked)


def line(folder: Path, field: str, which: str) -> str:
    phrases, *ways = measured(folder, field, which)
    return f"| {field} | {which} | {phrases} | " + " | ".join(f"{a} | {b}" for a, b in ways) + " |"


ROWS = [
    ("complaint", HELD_OUT),
    *((field, which) for which in (OWN, NEW) for field in FIELDS),
    *((field, OTHER) for field in OTHERS),
]


@pytest.mark.parametrize(("field", "which"), ROWS)
def test_the_page_says_what_is_measured(folder: Path, field: str, which: str) -> None:
    assert line(folder, field, which) in Path(PAGE).read_text(encoding="utf-8")


@pytest.mark.parametrize("field", FIELDS)
def test_final_causes_tell_what_words_of_its_own_mean(folder: Path, field: str) -> None:
    phrases, (_, alone), (_, with_causes), (_, broken) = measured(folder, field, OWN)
    assert with_causes > 1.5 * alone
    assert with_causes > phrases / 2
    # the broken twin: with the final causes shuffled nothing is left of the gain
    assert broken < alone + (with_causes - alone) / 4


def test_where_calls_say_little_the_words_stay_right(folder: Path) -> None:
    rows = [measured(folder, field, OTHER) for field in OTHERS]
    assert sum(three for _, _, (_, three), _ in rows) >= 0.97 * sum(three for _, (_, three), _, _ in rows)
    # the broken twin: every field's calls believed alike
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(CallEvidence, "_try", lambda self, trials: None)
        twins = [measured.__wrapped__(folder, field, OTHER) for field in OTHERS]
    assert sum(first for _, _, (first, _), _ in twins) < 0.9 * sum(first for _, (first, _), _, _ in twins)


if __name__ == "__main__":
    where = Path(sys.argv[1])
    where.mkdir()
    build(where)
    print(HEADER)
    for row in ROWS:
        print(line(where, *row), flush=True)
