"""Why a meaning is proposed for a phrase, in words with counts."""

from collections.abc import Mapping, Sequence

from analytics.intake.phrase_evidence import Turned
from analytics.intake.proposing_phrases import Meaning
from dashboard.words import number

Labels = Mapping[str, Mapping[str, str]]
"""Labels of causes and symptoms by kind of what is known of a call, then by code."""


def in_its_calls(turned_out: Sequence[Turned], labels: Labels) -> str:
    """Say what the calls of a phrase turned out to be and were about most often; "" where not known."""
    said = []
    for each in turned_out:
        what = labels[each.kind].get(each.fact, each.fact)
        of = f"{number(each.calls)} of {number(each.known)}"
        if each.kind == "cause":
            said.append(f"turned out to be “{what}” most often ({of} whose cause is known)")
        else:
            said.append(f"were about “{what}” most often ({of} whose complaint is known)")
    return f"Calls with it {', and '.join(said)}." if said else ""


def why(meaning: Meaning, labels: Labels) -> str:
    """Say what speaks for a meaning: what its calls turned out like, else the nearest known phrase."""
    if not meaning.alike:
        return f"By its letters; nearest: “{meaning.like}”." if meaning.like else "By its letters."
    phrase, known, others = meaning.alike.phrase, meaning.alike.meaning, meaning.alike.others
    what = labels[phrase.kind].get(phrase.fact, phrase.fact)
    did, so = ("turned out to be", "did") if phrase.kind == "cause" else ("were about", "were")
    return (
        f"{number(phrase.calls)} of its {number(phrase.known)} calls {did} “{what}”; so {so} "
        f"{number(known.calls)} of {number(known.known)} calls known to mean this, and "
        f"{number(others.calls)} of {number(others.known)} with another meaning."
    )
