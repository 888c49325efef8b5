"""Why a meaning is proposed, in words with counts."""

from analytics.intake.phrase_evidence import Alike, Turned
from analytics.intake.proposing_phrases import Meaning
from dashboard.components.phrases import in_its_calls, why

LABELS = {"cause": {"tube": "fill tube frozen"}, "symptom": {"no_ice": "no ice"}}


def test_what_the_calls_turned_out_to_be() -> None:
    assert in_its_calls([], LABELS) == ""
    told = in_its_calls([Turned("cause", "tube", 14, 17), Turned("symptom", "no_ice", 9, 1042)], LABELS)
    assert told == (
        "Calls with it turned out to be “fill tube frozen” most often (14 of 17 whose cause is known), and "
        "were about “no ice” most often (9 of 1,042 whose complaint is known)."
    )


def test_why_counts_the_calls_that_speak_for_it() -> None:
    alike = Alike(*(Turned("cause", "tube", *counts) for counts in ((14, 17), (320, 1400), (80, 5000))))
    assert why(Meaning("no_ice", alike, "no ice"), LABELS) == (
        "14 of its 17 calls turned out to be “fill tube frozen”; so did 320 of 1,400 calls known to mean "
        "this, and 80 of 5,000 with another meaning."
    )
    about = Alike(*(Turned("symptom", "no_ice", *counts) for counts in ((1, 2), (3, 4), (5, 6))))
    assert why(Meaning("tube", about, ""), LABELS).startswith(
        "1 of its 2 calls were about “no ice”; so were 3"
    )


def test_without_calls_the_nearest_phrase_is_named() -> None:
    assert (
        why(Meaning("no_ice", None, "not making ice"), LABELS) == "By its letters; nearest: “not making ice”."
    )
    assert why(Meaning("no_ice", None, ""), LABELS) == "By its letters."
