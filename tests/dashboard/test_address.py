from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from dashboard.address import LIST_PARAMETERS, filters_only, href, parse, query, to_call

AWKWARD = ["north", "a b", "ü&=?#/%", "<script>", "=cmd()", "+1", "01"]
KNOWN = {field: set(AWKWARD) for field in LIST_PARAMETERS.values()}

days = st.none() | st.dates(date(1995, 1, 1), date(2030, 12, 31))
codes = st.lists(st.sampled_from([*AWKWARD, ""]), unique=True, max_size=3).map(tuple)


@given(
    st.builds(
        Filters,
        window_days=st.sampled_from(WINDOWS_DAYS),
        match=st.sampled_from(MATCHES),
        as_of=days,
        closed_from=days,
        closed_to=days,
        **dict.fromkeys(LIST_PARAMETERS.values(), codes),
    )
)
def test_filters_come_back_from_their_address(filters: Filters) -> None:
    read = parse(query(filters), KNOWN)
    if filters.closed_from and filters.closed_to and filters.closed_from > filters.closed_to:
        filters = filters.but(closed_from=None, closed_to=None)
        assert len(read.problems) == 1
    else:
        assert read.problems == ()
    assert read.filters == filters


def test_what_is_not_recorded_has_an_address_of_its_own() -> None:
    assert query(Filters(depots=("",))) == "?depot=not-recorded"
    assert parse("?depot=not-recorded", {}).filters == Filters(depots=("",))
    assert parse("?depot=", KNOWN).filters == Filters()


@given(st.text())
def test_any_text_is_read_without_failing(text: str) -> None:
    read = parse(text, KNOWN)
    assert isinstance(read.filters, Filters)


def test_an_empty_address_is_the_default_and_the_default_is_empty() -> None:
    assert parse(None, {}).filters == parse("", {}).filters == parse("?", {}).filters == Filters()
    assert query(Filters()) == ""


def test_months_are_whole() -> None:
    read = parse("?from=2024-02&to=2024-02", {})
    assert (read.filters.closed_from, read.filters.closed_to) == (date(2024, 2, 1), date(2024, 2, 29))
    assert query(read.filters) == "?from=2024-02&to=2024-02"
    assert query(Filters(closed_from=date(2024, 2, 2))) == "?from=2024-02-02"


@pytest.mark.parametrize(
    ("search", "says"),
    [
        ("depot=nowhere", "no depot “nowhere”"),
        ("within=45", "7, 14, 30, 60 or 90"),
        ("within=soon", "“soon” days"),
        ("match=model", "family or any"),
        ("from=2026-13", "like 2026-03-01 or 2026-03"),
        ("to=yesterday", "“yesterday” is not a day"),
        ("from=2026-03&to=2025-01", "ends before it begins"),
        ("depot=" + "x" * 500, "xxx…”"),
    ],
)
def test_what_does_not_exist_is_said_and_left_out(search: str, says: str) -> None:
    read = parse(search, KNOWN)
    assert read.filters == Filters()
    assert len(read.problems) == 1
    assert says in read.problems[0]
    assert len(read.problems[0]) < 300


def test_a_good_part_of_an_address_is_kept_beside_a_bad_one() -> None:
    read = parse("?depot=nowhere&depot=north&within=90", KNOWN)
    assert read.filters == Filters(depots=("north",), window_days=90)
    assert len(read.problems) == 1


@pytest.mark.parametrize("text", ["0", "-3", "two", "", "99999999999", "²", "1.5"])
def test_a_page_number_that_is_none_is_the_first(text: str) -> None:
    assert parse(f"?page={text}", {}).page_number() == 1
    assert parse("?page=7", {}).page_number() == 7


def test_options_are_kept_apart_and_not_carried_to_other_pages() -> None:
    search = "?depot=north&by=cause&page=3&within=60"
    assert parse(search, KNOWN).options == {"by": "cause", "page": "3"}
    assert filters_only(search) == "?depot=north&within=60"
    assert href("/callbacks", Filters(window_days=7), by="part") == "/callbacks?within=7&by=part"


def test_ids_with_awkward_characters_stay_one_part_of_the_path() -> None:
    assert to_call("A/B ?#1") == "/call/A%2FB%20%3F%231"
