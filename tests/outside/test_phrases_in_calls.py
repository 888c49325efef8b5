"""What learning from the final causes brings, measured on phrases in the calls of an invented fleet.

The fleet and its assumptions: tests/outside/jargon_fleet.py. The settings of
analytics/intake/phrase_evidence.py were chosen on the office's phrases of the half "development"; counted
here is the half "measuring". The 105 complaints are those of tests/outside/test_phrase_proposals.py, with
the same texts to learn from, so that "words alone" is what stood there before. The texts of other fields
were looked at while choosing how to tell where calls say little; they show that no harm is done, and no
more.

`python -m tests.outside.test_phrases_in_calls FOLDER` makes the fleet in a new folder and prints the table of
docs/phrases_measured.md.
"""

import random
import sys
from collections import Counter
from collections.abc import Callable
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
FIVE = "the same, five calls known of each"
NEW = "the same, nothing known of their calls"
FEW = 5
OTHER = "in words like the catalogue's"
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
    unread = pl.col("code").is_null()
    texts = facts.filter(unread)["text"].unique().sort().to_list()
    others = dict(zip(texts, random.Random(SEED).sample(texts, len(texts)), strict=True))
    return facts.with_columns(
        pl.when(unread).then(pl.col("text").replace(others)).otherwise("text").alias("text")
    )


def few(facts: pl.DataFrame, texts: list[str]) -> pl.DataFrame:
    """Draw a few calls of each of these phrases, and forget the others."""
    drawn, rng = [], random.Random(SEED)
    mine = pl.col("text").is_in(texts) & pl.col("code").is_null()
    for (text, kind), part in (
        facts.filter(mine).sort("text", "kind", "fact").group_by("text", "kind", maintain_order=True)
    ):
        calls = [fact for fact, count in part.select("fact", "calls").rows() for _ in range(count)]
        kept = Counter(rng.sample(calls, min(FEW, len(calls))))
        drawn += [(text, None, kind, fact, count, kept.total()) for fact, count in kept.items()]
    return pl.concat(
        [facts.filter(~mine.fill_null(False)), pl.DataFrame(drawn, schema=facts.schema, orient="row")]
    )


def hits(proposer: Proposer, asked: Phrases) -> Hits:
    """How often the right meaning comes first, and among the first three."""
    found = [[each.code for each in three] for three in proposer.propose([text for text, _ in asked])]
    right = [code for _, code in asked]
    return (
        sum(code == codes[0] for code, codes in zip(right, found, strict=True)),
        sum(code in codes for code, codes in zip(right, found, strict=True)),
    )


def asked_of(folder: Path, field: str, which: str) -> Phrases:
    if which == OTHER:
        return jargon_fleet.others_of(folder)[field]
    return of_one_code(field, "measuring") if which == HELD_OUT else own_words(field, "measuring")


@cache
def known_texts(folder: Path, field: str, which: str) -> tuple[list[str], list[str]]:
    catalogue = catalogue_phrases(load_catalogue(), field)
    more = of_one_code(field, "development") if which == HELD_OUT else recognised(folder, field)
    return [text for text, _ in (*more, *catalogue)], [code for _, code in (*more, *catalogue)]


@cache
def words_alone(folder: Path, field: str, which: str) -> Hits:
    return hits(Proposer(*known_texts(folder, field, which)), asked_of(folder, field, which))


@cache
def with_causes(folder: Path, field: str, which: str, how: str = "") -> Hits:
    """Hits with what the calls turned out to be; `how`: shuffled, or believed whole in every field."""
    facts, asked = facts_of(folder, field), asked_of(folder, field, which)
    texts = [text for text, _ in asked]
    if which == FIVE:
        facts = few(facts, texts)
    if which == NEW:
        facts = facts.filter(pl.col("text").is_null() | ~pl.col("text").is_in(texts))
    with pytest.MonkeyPatch.context() as patch:
        if how == "whole":
            patch.setattr(CallEvidence, "_try", lambda self, trials: None)
        evidence = CallEvidence(shuffled(facts) if how == "shuffled" else facts)
    return hits(Proposer(*known_texts(folder, field, which), evidence), asked)


def line(folder: Path, field: str, which: str) -> str:
    alone = words_alone(folder, field, OWN if which in (FIVE, NEW) else which)
    ways = [alone, with_causes(folder, field, which)]
    if which not in (FIVE, OTHER):
        ways.append(with_causes(folder, field, which, "shuffled"))
    hit = " | ".join(f"{first} | {three}" for first, three in ways) + " | | " * (3 - len(ways))
    return f"| {field} | {which} | {len(asked_of(folder, field, which))} | {hit.strip()} |"


ROWS = [
    ("complaint", HELD_OUT),
    *((field, which) for which in (OWN, FIVE, NEW) for field in FIELDS),
    *((field, OTHER) for field in OTHERS),
]


@pytest.mark.parametrize(("field", "which"), ROWS)
def test_the_page_says_what_is_measured(folder: Path, field: str, which: str) -> None:
    assert line(folder, field, which) in Path(PAGE).read_text(encoding="utf-8")


@pytest.mark.parametrize("field", FIELDS)
def test_final_causes_tell_what_words_of_its_own_mean(folder: Path, field: str) -> None:
    alone, told, broken = (
        three
        for _, three in (
            words_alone(folder, field, OWN),
            with_causes(folder, field, OWN),
            with_causes(folder, field, OWN, "shuffled"),
        )
    )
    assert told > 1.5 * alone
    assert told > len(asked_of(folder, field, OWN)) / 2
    # the broken twin: with the final causes shuffled nothing is left of the gain
    assert broken <= alone


def test_the_complaints_held_out_before_are_told_no_worse(folder: Path) -> None:
    before, now = words_alone(folder, "complaint", HELD_OUT), with_causes(folder, "complaint", HELD_OUT)
    assert now[0] >= before[0]
    assert now[1] >= before[1]
    assert with_causes(folder, "complaint", HELD_OUT, "shuffled")[1] < before[1]


def test_where_calls_say_little_the_words_stay_right(folder: Path) -> None:
    def right(hits: Callable[[str], Hits]) -> int:
        return sum(hits(field)[0] for field in OTHERS)

    words = right(lambda field: words_alone(folder, field, OTHER))
    assert right(lambda field: with_causes(folder, field, OTHER)) > 0.93 * words
    # the broken twin: calls are believed whole in every field
    assert right(lambda field: with_causes(folder, field, OTHER, "whole")) < 0.9 * words


if __name__ == "__main__":
    where = Path(sys.argv[1])
    where.mkdir()
    build(where)
    print(HEADER)
    for row in ROWS:
        print(line(where, *row), flush=True)
