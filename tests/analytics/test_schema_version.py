"""A change to the tables of a store raises their version: a store made before it is not misread."""

import hashlib
import re
from pathlib import Path

from analytics.store import SCHEMA_VERSION

ROOT = Path(__file__).parents[2]
DIGESTS = {1: "58c79eb72a2d321f"}
"""Digest of the tables of each version; one that was released (version 1 is not yet) never gets another."""


def digest(texts: list[str]) -> str:
    """Digest of the statements alone: comments, spacing and case are no change."""
    bare = (re.sub(r"\s+", "", re.sub(r"--[^\n]*", "", text)).lower() for text in texts)
    return hashlib.sha256("\n".join(bare).encode()).hexdigest()[:16]


def tables() -> list[str]:
    return [path.read_text(encoding="utf-8") for path in sorted((ROOT / "sql" / "schema").glob("*.sql"))]


def test_tables_are_those_of_their_version() -> None:
    advice = "the tables changed: raise SCHEMA_VERSION, note the digest here, tell of it in docs/changelog.md"
    assert digest(tables()) == DIGESTS[SCHEMA_VERSION], advice


def test_another_column_is_caught_and_another_comment_is_not() -> None:
    before = digest(["create table a (x integer); -- a\n"])
    assert digest(["create table a (\n    x integer\n);"]) == before
    assert digest(["create table a (x integer, y integer);"]) != before
