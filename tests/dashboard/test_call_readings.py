"""Judging a reading in the browser: in the unit taken, by the limits of the catalogue or the maker's sheet.

The facts are common practice of the trade, no source: a coil outside 200 to 500 ohm is condemned, inside it
is a good coil and not yet a good valve; 20 psi flowing at the end of the line is the least; a freezer at 0 °F
is as cold as it should be.
"""

from collections.abc import Callable
from typing import Any

import pytest

from analytics.catalogue import load_catalogue
from analytics.catalogues.new_call import sayings
from tests.dashboard.fake_pack import fake_pack
from tests.dashboard.javascript import answer

FILES = ("call_readings.js", "call_rows.js", "call_words.js")
UNITS = {
    each.code: {"quantity": each.quantity, "scale": each.scale, "offset": each.offset}
    for each in load_catalogue().units.values()
}
LIMITS = {limit["code"]: limit for check in fake_pack()["checks"] for limit in check["limits"]}
CONVERSION = ("return (value * a.scale + a.offset - b.offset) / b.scale;", "return value;")


def judged(limit: str | None, text: str, unit: str, sheet: Any = None, **twin: Any) -> tuple[str, str | None]:
    """Verdict and finding."""
    told = answer(
        FILES,
        "serviceCalls.readings.judge(limit, text, unit, units, sheet)",
        limit=LIMITS[limit] if limit else None,
        text=text,
        unit=unit,
        units=UNITS,
        sheet=sheet,
        **twin,
    )
    return told["verdict"], told.get("finding")


def said(limit: str, text: str, unit: str, sheet: Any = None) -> str:
    expression = """serviceCalls.words.verdict(
        serviceCalls.readings.judge(limit, text, unit, units, sheet), limit.code, inRange)"""
    given = {"limit": LIMITS[limit], "text": text, "unit": unit, "units": UNITS, "sheet": sheet}
    return str(answer(FILES, expression, inRange=dict(sayings().in_range), **given))


@pytest.mark.parametrize(
    ("limit", "text", "unit", "verdict", "finding"),
    [
        ("valve_coil", "260", "ohm", "healthy", "no_fault"),
        ("valve_coil", "0.26", "kohm", "healthy", "no_fault"),
        ("valve_coil", "0,26", "kohm", "healthy", "no_fault"),
        ("valve_coil", "200", "ohm", "healthy", "no_fault"),
        ("valve_coil", "500", "ohm", "healthy", "no_fault"),
        ("valve_coil", "190", "ohm", "outside", "fault"),
        ("valve_coil", "501", "ohm", "outside", "fault"),
        ("valve_coil", "OL", "ohm", "outside", "fault"),
        ("valve_coil", " o.l. ", "kohm", "outside", "fault"),
        ("valve_coil", "0", "ohm", "outside", "fault"),
        ("pressure_flowing", "12", "psi", "outside", "fault"),
        ("pressure_flowing", "20", "psi", "healthy", "no_fault"),
        ("pressure_flowing", "0.83", "bar", "outside", "fault"),
        ("pressure_flowing", "150", "kPa", "healthy", "no_fault"),
        ("freezer_air", "0", "degF", "healthy", "no_fault"),
        ("freezer_air", "-18", "degC", "healthy", "no_fault"),
        ("freezer_air", "−18", "degC", "healthy", "no_fault"),
        ("freezer_air", "-17.8", "degC", "doubtful", "inconclusive"),
        ("freezer_air", "1", "degF", "doubtful", "inconclusive"),
        ("freezer_air", "10", "degF", "doubtful", "inconclusive"),
        ("freezer_air", "11", "degF", "outside", "fault"),
        ("freezer_air", "-11", "degC", "outside", "fault"),
        ("line_end", "1.5", "L/min", "doubtful", "inconclusive"),
        ("line_end", "0.5", "gpm", "doubtful", "inconclusive"),
        ("line_end", "0.2", "gpm", "outside", "fault"),
        ("seep", "0", "drops", "healthy", "no_fault"),
        ("seep", "1", "drops", "outside", "fault"),
        ("valve_coil", "260", "psi", "other_quantity", None),
        ("valve_coil", "about 300", "ohm", "no_number", None),
        ("valve_coil", "1,250", "ohm", "ask", None),
        ("valve_coil", "  ", "ohm", "none", None),
    ],
)
def test_reading_is_judged_in_the_unit_taken(
    limit: str, text: str, unit: str, verdict: str, finding: str | None
) -> None:
    assert judged(limit, text, unit) == (verdict, finding)


def test_reading_still_has_no_limit_of_its_own() -> None:
    assert judged(None, "12", "psi") == ("no_limit", None)


def kilohms_are_judged_as_ohms(**twin: Any) -> None:
    assert judged("valve_coil", "0.26", "kohm", **twin)[0] == "healthy"


def bars_are_judged_as_pounds(**twin: Any) -> None:
    assert judged("pressure_flowing", "3", "bar", **twin)[0] == "healthy"


def freezer_is_judged_in_fahrenheit(**twin: Any) -> None:
    """0 °F is -17.8 °C: by the limit in Celsius a freezer as cold as it should be would be doubtful."""
    assert judged("freezer_air", "0", "degF", **twin)[0] == "healthy"


OWN_UNIT_IGNORED = ("limit.also && limit.also.unit === unit ? limit.also : limit", "limit")


@pytest.mark.parametrize(
    ("check", "replaced"),
    [
        (kilohms_are_judged_as_ohms, CONVERSION),
        (bars_are_judged_as_pounds, CONVERSION),
        (freezer_is_judged_in_fahrenheit, OWN_UNIT_IGNORED),
    ],
)
def test_unit_ignored_is_caught(check: Callable[..., None], replaced: tuple[str, str]) -> None:
    check()
    with pytest.raises(AssertionError):
        check(replaced=replaced)


@pytest.mark.parametrize(
    ("sheet", "text", "verdict"),
    [
        ({"low": 15, "high": 30, "unit": "ohm"}, "22", "healthy"),
        ({"low": 15, "high": 30, "unit": "ohm"}, "260", "outside"),
        ({"low": None, "high": 600, "unit": "ohm"}, "190", "healthy"),
        ({"low": 0.2, "high": 0.6, "unit": "kohm"}, "550", "healthy"),
        ({"low": None, "high": None, "unit": "ohm"}, "190", "outside"),
    ],
)
def test_the_makers_sheet_replaces_the_limit(sheet: dict[str, Any], text: str, verdict: str) -> None:
    assert judged("valve_coil", text, "ohm", sheet)[0] == verdict


def test_words_say_what_a_reading_proves_and_what_not() -> None:
    assert said("valve_coil", "260", "ohm").endswith("A good coil, not yet a good valve.")
    assert "certain" in said("valve_coil", "OL", "ohm")
    assert "Near 0" in said("valve_coil", "0", "ohm")
    assert "unless the maker's sheet says otherwise" in said("valve_coil", "190", "ohm")
    assert "by the maker's sheet" in said("valve_coil", "22", "ohm", {"low": 15, "high": 30, "unit": "ohm"})
    assert said("pressure_flowing", "12", "psi").startswith("Low: outside 20 to 120 psi")
    assert "up to 0 °F" in said("freezer_air", "5", "degF")


def readings_of(code: str, answers: dict[str, str] | None = None) -> list[dict[str, Any]]:
    check = next(each for each in fake_pack()["checks"] if each["code"] == code)
    expression = "serviceCalls.readings.readingsOf(check, answers, units)"
    return list(answer(FILES, expression, check=check, answers=answers or {}, units=UNITS))


def test_pressure_is_read_still_and_flowing_and_the_drop_is_judged() -> None:
    fields = readings_of("pressure_static_flowing")
    assert [(each["state"], bool(each["limit"])) for each in fields] == [("still", False), ("flowing", True)]
    assert {"psi", "kPa", "bar"} == set(fields[0]["units"])
    check = next(each for each in fake_pack()["checks"] if each["code"] == "pressure_static_flowing")
    taken = {
        "pressure_static_flowing_still": {"text": "4", "unit": "bar"},
        "pressure_flowing": {"text": "30", "unit": "psi"},
    }
    expression = "serviceCalls.readings.differences(check, fields, taken, units)"
    found = answer(FILES, expression, check=check, fields=fields, taken=taken, units=UNITS)
    assert [(each["limit"]["code"], each["value"]) for each in found] == [("pressure_drop", 28.02)]


def test_reverse_osmosis_feed_is_read_only_when_fed_by_it() -> None:
    codes = [
        each["code"] for each in readings_of("pressure_static_flowing", {"supply_type": "reverse_osmosis"})
    ]
    assert "reverse_osmosis_feed" in codes
    assert "reverse_osmosis_feed" not in [each["code"] for each in readings_of("pressure_static_flowing")]


def test_range_of_the_meter_is_no_reading() -> None:
    assert [each["code"] for each in readings_of("valve_coil_ohms")] == ["valve_coil"]


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.95, "very likely"),
        (0.8, "very likely"),
        (0.5, "likely"),
        (0.2, "quite possible"),
        (0.0696, "possible"),
        (0.02, "unlikely"),
    ],
)
def test_chance_is_named_as_it_is_shown(share: float, words: str) -> None:
    assert answer(FILES, "serviceCalls.words.chance(share)", share=share) == words


@pytest.mark.parametrize(
    ("shares", "answered", "why"),
    [
        ([0.5, 0.2, 0.1], 0, "no question is answered"),
        ([0.5, 0.2, 0.1], 1, "only one question is answered"),
        ([0.5, 0.2, 0.1], 2, ""),
        ([0.2, 0.2, 0.2], 5, ""),
        ([0.2, 0.2, 0.19], 5, "the three likeliest causes together have only 59%"),
    ],
)
def test_not_enough_to_tell(shares: list[float], answered: int, why: str) -> None:
    ranked = [{"share": share} for share in shares]
    expression = "serviceCalls.words.notEnough(ranked, answered)"
    assert answer(FILES, expression, ranked=ranked, answered=answered) == why
