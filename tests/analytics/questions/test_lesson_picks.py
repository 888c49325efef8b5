"""Which cases are picked, by hand: by their rules, spread over units and technicians, always the same."""

from dataclasses import replace
from typing import Any

import polars as pl
import pytest

from analytics.lesson_case_rules import case_rules
from analytics.questions.lesson_picks import ANSWERS, picks

RULES = case_rules()
SCHEMA = {
    "episode_id": pl.String, "unit_hash": pl.UInt64, "technician": pl.String, "first_thought": pl.String,
    "final_cause": pl.String, "standing": pl.String, "held": pl.Boolean, "found_by_check": pl.Boolean,
    "families": pl.List(pl.String), **dict.fromkeys(ANSWERS, pl.String),
}  # fmt: skip
USUAL = {"complaint": "no_ice", "mould_state": "empty", "switch_on": "yes", "supply_type": "town"}


def string(number: int, cause: str = "valve", thought: str | None = None, **more: Any) -> dict[str, Any]:
    thought = thought or cause
    return {
        "episode_id": f"E{number:03d}", "unit_hash": number, "technician": f"T{number % 7}",
        "first_thought": thought, "final_cause": cause, "held": True, "found_by_check": True,
        "standing": "right" if thought == cause else "different", "families": ["ice"],
        **dict.fromkeys(ANSWERS), **USUAL, **more,
    }  # fmt: skip


def fleet(*more: dict[str, Any]) -> pl.DataFrame:
    """Ten right ones with an empty mould, thirty of another cause with a full one, and what is asked for."""
    own = [string(n) for n in range(10)]
    others = [string(100 + n, "module", mould_state="full") for n in range(30)]
    return pl.DataFrame([*own, *others, *more], schema=SCHEMA, orient="row")


def taken(rows: pl.DataFrame, kind: str) -> list[str]:
    return [each.episode_id for each in picks(rows, "valve", RULES).picks if each.kind == kind]


def test_signs_are_answers_given_far_more_often_for_the_cause() -> None:
    found = picks(fleet(), "valve", RULES)
    (sign,) = found.signs
    assert (sign.answer, sign.code, sign.strings, sign.of, sign.others, sign.of_others) == (
        "mould_state", "empty", 10, 10, 0, 30,
    )  # fmt: skip
    assert sign.ratio == pytest.approx((10.5 / 11) / (0.5 / 31))
    assert found.strings == 10


def test_typical_was_right_shown_by_a_check_and_held() -> None:
    odd = string(200, switch_on="no", mould_state="full")
    wrong = [string(201, held=False), string(202, found_by_check=False), string(203, thought="module")]
    found = taken(fleet(odd, *wrong), "typical")
    assert found == ["E000", "E001", "E002"], "the usual ones, in order"
    assert not {"E200", "E201", "E202", "E203"} & set(found)


def test_missed_has_a_sign_and_was_thought_to_be_something_else() -> None:
    rows = fleet(
        string(203, thought="module"),
        string(204, thought="module", mould_state="full"),  # no sign
        string(205, thought="nothing", standing="none_found", found_by_check=False),
        string(206, thought="tube", standing="went_deeper"),
    )
    assert taken(rows, "missed") == ["E203", "E205"], "shown by a check comes first"


def test_look_alike_is_another_with_the_same_answers_taken_for_it_first() -> None:
    rows = fleet(
        string(210, "module", "valve", mould_state="full"),
        string(211, "module", "valve"),
        string(212, "module", standing="right"),
        string(213, "module", "valve", standing="went_deeper"),
        string(214, "module", "valve", families=["leak"], held=False),
    )
    assert taken(rows, "look_alike") == ["E211", "E210"]


def test_another_kind_of_complaint_is_no_look_alike() -> None:
    rows = fleet(string(220, "leaking", "valve", families=["leak"]))
    assert "E220" not in taken(rows, "look_alike")


def test_no_unit_twice_and_no_technician_often_while_others_are_left() -> None:
    rows = fleet().with_columns(
        unit_hash=pl.when(pl.col("episode_id") == "E001").then(0).otherwise("unit_hash").cast(pl.UInt64),
        technician=pl.when(pl.col("episode_id") < "E005").then(pl.lit("T9")).otherwise("technician"),
    )
    assert taken(rows, "typical") == ["E000", "E002", "E005"]
    alone = rows.with_columns(technician=pl.lit("T9"))
    assert taken(alone, "typical") == ["E000", "E002", "E003"], "rather one technician than no case"


def test_order_of_rows_does_not_matter_and_nothing_is_no_trouble() -> None:
    rows = fleet(string(203, thought="module"))
    assert picks(rows, "valve", RULES) == picks(rows.reverse(), "valve", RULES)
    assert picks(rows, "unheard_of", RULES).picks == []
    assert picks(rows.clear(), "valve", RULES).picks == []


def test_too_few_answers_make_no_case() -> None:
    strict = replace(RULES, answers=5)
    assert picks(fleet(), "valve", strict).picks == []


def test_a_lesson_wants_five_to_ten() -> None:
    assert RULES.least == 5
    assert RULES.least <= sum(kind.cases for kind in RULES.kinds.values()) <= 10
