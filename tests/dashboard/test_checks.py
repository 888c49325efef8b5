"""The page on checks: its answer, its links, its cautions, and what it says where little is recorded."""

from urllib.parse import parse_qs, urlsplit

from dashboard.app import draw
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import links, text


def page(search: str = "", fleet: FakeFleet | None = None) -> list:
    return draw(fleet or FakeFleet(), "/checks", search)[0]  # type: ignore[arg-type]


def test_answer_has_numbers_intervals_and_what_the_shares_hold_for() -> None:
    words = text(page())
    assert "look for ice in the fill tube , 5.6 an hour (95% interval 5.1 to 6.2)" in words
    assert "336 of 1,120 times it was made (30.0%; 95% interval" in words
    assert "On 149 of 373 calls that came back" in words
    assert "186 hours on site" in words
    assert "40% of the calls" in words or "39.9% of the calls" in words
    assert "Checks were made because the cause was suspected." in words


def test_every_number_opens_its_calls() -> None:
    asked = [parse_qs(urlsplit(link).query) for link in links(page("?depot=north&depot=hills"))]
    subsets = {(query.get("subset", [""])[0], query.get("check", [""])[0]) for query in asked}
    for subset in ("check_made", "check_found", "check_ruled_out", "check_not_recorded"):
        assert (subset, "valve_coil_ohms") in subsets
    for subset in (
        "check_not_recorded", "check_back", "check_left_out", "checks_settled", "checks_too_soon",
        "valve_fitted", "valve_without_evidence", "valve_without_evidence_came_back",
        "valve_with_evidence_judged", "proved_judged", "checked_came_back", "unchecked_works",
    ):  # fmt: skip
        assert (subset, "") in subsets


def test_groups_narrow_the_calls_to_the_group() -> None:
    by_kind, by_complaint = links(page()), links(page("?by=symptom"))
    assert "/calls?kind=leak&subset=check_found&check=fill_tube_look" in by_kind
    assert "/calls?complaint=leak_floor&subset=check_found&check=fill_tube_look" in by_complaint


def test_live_voltage_stands_beside_its_check_and_the_cautions_below() -> None:
    words = text(page())
    assert "Voltage at the valve in a fill live voltage: qualified technicians only" in words
    assert "Live voltage: only a qualified technician, with the maker's service sheet." in words
    assert "Unplug the unit and shut its water off first." in words


def test_difference_is_not_claimed_where_it_can_be_chance() -> None:
    assert "can not be told from chance (95% interval -1.0 to 9.0 points)" in text(page())


def test_technicians_are_not_named_and_those_left_out_are_counted() -> None:
    words = text(page())
    assert "of 2 technicians who record checks on fewer than half of their visits" in words
    assert "Not recorded is not the same as not done." in words


def test_without_checks_the_page_says_what_is_needed() -> None:
    fleet = FakeFleet()
    fleet.checks_loaded = False
    words = text(page(fleet=fleet))
    assert "On none of these calls is a check recorded." in words
    assert "needs the column check of the checks file" in words
    assert "evidence for it recorded" not in words


def test_few_calls_get_no_percentage() -> None:
    words = text(page(fleet=FakeFleet(calls=16)))
    assert "too few" in words
    assert "nan" not in words
    assert "1 of 4" in words
    assert "25%" not in words


def test_calls_page_names_the_check() -> None:
    words = text(draw(FakeFleet(), "/calls", "?subset=check_found&check=valve_coil_ohms")[0])  # type: ignore[arg-type]
    assert "stayed fixed (resistance of each valve coil)" in words
    csv = [
        link
        for link in links(draw(FakeFleet(), "/calls", "?subset=check_found&check=valve_coil_ohms")[0])  # type: ignore[arg-type]
        if link.startswith("/export.csv")
    ]
    assert csv == ["/export.csv?table=calls&subset=check_found&check=valve_coil_ohms"]
