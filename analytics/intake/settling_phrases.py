"""Settling what phrases mean, for what is loaded and for what comes, and taking that back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import duckdb

from analytics import queries
from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadQuestion
from analytics.intake import coding
from analytics.intake.normalising import code_texts
from analytics.marts import build_marts
from analytics.store import WAIT_SECONDS, Store

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Settled:
    """What somebody says that a phrase means.

    Parameters
    ----------
    field : str
        Coding field.
    text : str
        As written; case and spaces around do not matter.
    codes : tuple of str or None
        Codes of the field; empty: it means nothing; None takes back what was settled.
    """

    field: str
    text: str
    codes: tuple[str, ...] | None


def settle(
    store: Store,
    said: Sequence[Settled],
    *,
    progress: Progress | None = None,
    catalogue: Catalogue | None = None,
    wait_seconds: float = WAIT_SECONDS,
) -> bool:
    """Settle phrases in one generation of their own; say whether anything changed.

    Parameters
    ----------
    store : Store
    said : sequence of Settled
        Later ones on the same phrase count.
    progress : callable, optional
        Called with a stage and the share of it done.
    catalogue : Catalogue, optional
    wait_seconds : float
        How long to wait for a load to finish.

    Raises
    ------
    BadQuestion
        When a field or code is none of the catalogue's, or nothing is loaded.
    StoreProblem
        When another load runs, or the store can not be written.

    Notes
    -----
    Every text that is the same but for case and spaces around takes the meaning, also in files loaded later;
    a word in the mapping of such a file comes before it.
    """
    catalogue = catalogue or load_catalogue()
    check(catalogue, said)
    if not store.exists():
        raise BadQuestion("Nothing is loaded, so that there are no phrases to settle.")
    report = progress or (lambda stage, share: None)
    with store.writing(wait_seconds=wait_seconds, progress=report) as draft:
        changed = False
        for each in said:
            report("coding", 0.0)
            if each.codes is None:
                changed = _forget(draft.connection, catalogue, each) or changed
            else:
                words = {each.field: {each.text: each.codes}}
                changed = coding.settle_again(draft.connection, words)[0] or changed
        if not changed:
            draft.abandon()
            return False
        build_marts(
            draft.connection, catalogue, "all", progress=lambda _, share: report("building marts", share)
        )
    return True


def check(catalogue: Catalogue, said: Sequence[Settled]) -> None:
    """Raise BadQuestion where a field or a code is none of the catalogue's."""
    for each in said:
        if each.field not in catalogue.fields:
            raise BadQuestion(f"'{each.field}' is no field whose words are settled.")
        legal = catalogue.coded(each.field)
        if strange := [code for code in each.codes or () if code not in legal]:
            raise BadQuestion(f"'{strange[0]}' is no code of {each.field}. It can be {', '.join(legal)}.")


def _forget(connection: duckdb.DuckDBPyConnection, catalogue: Catalogue, each: Settled) -> bool:
    """Have the texts that were settled coded anew by the catalogue alone."""
    values = {"field": each.field, "words": [each.text.strip().lower()]}
    texts = queries.frame(connection, "staging/settled_before", values)
    texts = texts.filter(texts["how"] == "settled")
    if texts.is_empty():
        return False
    queries.run(connection, "staging/forget_settled", values)
    coded = code_texts(catalogue, each.field, texts["text"].to_list())
    connection.register("new_codings", coded)
    queries.run(connection, "staging/add_codings")
    connection.unregister("new_codings")
    return True
