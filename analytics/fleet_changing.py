"""Phrases to settle, and what people ask to change in the records: the facade as far as it is about these."""

import hashlib
from collections.abc import Sequence

import polars as pl

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.errors import UnknownRecord
from analytics.fleet_bringing import FleetBringing
from analytics.intake import changing_work
from analytics.intake.changing import Changing
from analytics.intake.phrase_evidence import TRIALS, CallEvidence
from analytics.intake.proposing_phrases import (
    MOST_TEXTS,
    Proposer,
    Understood,
    catalogue_phrases,
    understood,
)
from analytics.intake.set_aside import rows_to_mend
from analytics.store import Store

EXAMPLES = 3
PROPOSALS = 3


def phrase_key(field: str, text: str) -> str:
    """Short name of a phrase, for an address."""
    return hashlib.sha256(f"{field}\x1f{text}".encode()).hexdigest()[:32]


class FleetChanging(FleetBringing):
    """Phrases and changes; see `analytics.fleet.Fleet`."""

    def changing(self) -> Changing:
        """Return what queues the changes that people ask for, and tells how far they are."""
        assert isinstance(self._store, Store), "changes are made in a store, not in a reader of one"
        return Changing(self._store, changing_work.start)

    def meanings(self, field: str) -> dict[str, str]:
        """Return the labels of everything that a phrase of this field can mean, by code."""
        return load_catalogue().labels(field)

    def proposals(self, field: str, texts: Sequence[str]) -> list[Understood]:
        """Return what each text may mean, likeliest first, with what its calls turned out to be.

        Notes
        -----
        Learnt from the phrases of the catalogue, the texts that were recognised, and what the calls of those
        that were not turned out to be; once a generation.
        """
        read = self._read()
        known = catalogue_phrases(load_catalogue(), field)

        def learnt() -> tuple[Proposer, CallEvidence]:
            facts = queries.frame(read.cursor, "lists/phrase_facts", {"field": field, "trials": TRIALS})
            values = {"field": field, "limit": MOST_TEXTS}
            rows = queries.frame(read.cursor, "lists/recognised", values).rows() + known
            evidence = CallEvidence(facts)
            return Proposer([text for text, _ in rows], [code for _, code in rows], evidence), evidence

        proposer, evidence = read.once(("proposer", field), learnt)
        return understood(proposer, evidence, known, texts, PROPOSALS)

    def learn_phrases(self) -> None:
        """Learn ahead what the proposals for the most frequent phrases need."""
        rows = queries.frame(
            self._read().cursor, "lists/unrecognised", {"field": None, "limit": 10, "offset": 0}
        )
        for field in rows["field"].unique(maintain_order=True):
            self.proposals(field, [])

    def phrase_examples(self, field: str, texts: Sequence[str]) -> pl.DataFrame:
        """Return calls in which phrases stand.

        Returns
        -------
        pl.DataFrame
            Columns text, call_id, opened_at, complaint, root_cause (as written); up to three calls a text.
        """
        values = {"field": field, "texts": list(texts), "most": EXAMPLES}
        return queries.frame(self._read().cursor, "lists/phrase_examples", values)

    def to_mend(self, file_id: int) -> pl.DataFrame:
        """Return the rows of a file set aside, in its own columns, to be mended and brought again.

        Raises
        ------
        BadQuestion
            When no row of this file is set aside.
        """
        return rows_to_mend(self._read().cursor, file_id)

    def settled(self) -> pl.DataFrame:
        """Return columns field, text, codes (list) of the phrases that people settled."""
        return queries.frame(self._read().cursor, "lists/settled")

    def phrase(self, key: str) -> tuple[str, str]:
        """Return field and text of a phrase by its key.

        Raises
        ------
        UnknownRecord
            When no such phrase stands in the records.
        """
        found = queries.frame(self._read().cursor, "lists/phrase", {"key": key}).rows()
        if not found:
            raise UnknownRecord("This phrase is not in the records any more. Open the page anew.")
        return found[0]
