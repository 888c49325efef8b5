"""One call from telephone to kitchen: by thumb, by keyboard, without a network, by its address, to a file."""

from collections.abc import Callable, Iterator
from pathlib import Path

import polars as pl
import pytest
from playwright.sync_api import Page

from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.browser.serving import served
from tests.browser.test_every_page import AXE, RULES
from tests.browser.test_moving import tab_to
from tests.browser.watching import DESK, PHONE, Watched
from tests.dashboard.fake_fleet import FakeFleet

pytestmark = pytest.mark.browser

ANSWERED = "/new-call?said=symptom:hollow_cubes*yes&said=mould_state*hollow&said=dispenser_flow*slow"
FOUND = (
    f"{ANSWERED}&unit=U1001&found=switch_arm_bin*no_fault&found=pressure_static_flowing*fault"
    "&read=valve_coil*260*ohm&read=pressure_flowing*12*psi&read=pressure_static_flowing_still*55*psi"
)
STATES = {"empty": "/new-call", "answered": ANSWERED, "found": FOUND}


@pytest.fixture(scope="module")
def call_site() -> Iterator[str]:
    with served(FakeFleet()) as address:
        yield address


@pytest.fixture(scope="module")
def site_without_model() -> Iterator[str]:
    with served(FakeFleet(fitted=False)) as address:
        yield address


@pytest.fixture
def start(visit: Callable[..., Watched], call_site: str) -> Callable[..., Watched]:
    return lambda width=PHONE, **more: visit(width, at=call_site, **more)


def the_answer(page: Page) -> str:
    return page.locator("#call-answer").inner_text()


def in_address(page: Page, text: str) -> None:
    """Wait until the address holds a text; it is written just after the page is drawn."""
    page.wait_for_function("t => decodeURIComponent(location.search).includes(t)", arg=text)


def open_check(page: Page, code: str) -> None:
    """Fold a check out, and the list of the others where it stands among them."""
    other = page.locator("details.other-checks").filter(has=page.locator(f"[data-check={code}]"))
    if other.count() and other.get_attribute("open") is None:
        other.locator("summary").first.click()
    check = page.locator(f"[data-check={code}] > details")
    if check.get_attribute("open") is None:
        check.locator("summary").first.click()


def violations(page: Page) -> list[str]:
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    page.evaluate(AXE + "\n;0")
    return list(page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))"))


def asked_of_the_server(requests: list[str]) -> list[str]:
    """Leave out the icon of the tab, which the browser takes from what it keeps when the address changes."""
    return [url for url in requests if "/_favicon.ico" not in url]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
@pytest.mark.parametrize("state", list(STATES))
def test_call_fits_and_is_accessible(
    start: Callable[..., Watched], width: int, state: str, scheme: str
) -> None:
    page = start(width, scheme=scheme).open(STATES[state])
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_axe_would_find_a_reading_without_a_name(start: Callable[..., Watched]) -> None:
    page = start().open(FOUND)
    page.evaluate("document.querySelectorAll('.reading label').forEach(each => each.remove())")
    assert "label" in violations(page)


def too_small(page: Page) -> list[tuple[str, float]]:
    controls = page.locator(
        ".new-call button, .new-call select, .new-call input[type=text], .new-call summary, .tickable"
    )
    heights = """each => each.filter(one => one.checkVisibility({visibilityProperty: true}))
        .map(one => [one.innerText.slice(0, 30), one.getBoundingClientRect().height])"""
    boxes = controls.evaluate_all(heights)  # asked one by one they take ten seconds
    assert len(boxes) > 20
    return [(text, height) for text, height in boxes if height < 47.5]


def test_everything_to_press_is_48_pixels_high(start: Callable[..., Watched]) -> None:
    page = start().open(FOUND)
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    assert too_small(page) == []
    page.add_style_tag(content=".new-call .chip { min-height: 30px !important; padding: 0 !important; }")
    assert too_small(page), "a small button is caught"


def test_parts_of_the_page_stand_in_the_order_of_a_call(start: Callable[..., Watched]) -> None:
    page = start().open(FOUND)
    titles = page.locator("main h2").all_inner_texts()
    begin = [
        "Last calls of unit", "By telephone", "What the customer tells", "Likely causes",
        "What tells the two", "Checks", "Parts", "Finished calls", "Before you leave", "Keep",
    ]  # fmt: skip
    assert len(titles) >= len(begin)
    assert [each for each, wanted in zip(titles, begin, strict=False) if not each.startswith(wanted)] == []
    assert "when it is low water pressure at the refrigerator" in page.locator("#apart-line").inner_text()
    assert "of 240" in page.locator("#call-telephone").inner_text(), "put right by telephone, n of d"


def test_call_goes_on_without_a_network(start: Callable[..., Watched]) -> None:
    watched = start()
    page = watched.open("/new-call")
    requests: list[str] = []
    page.on("request", lambda request: requests.append(request.url))
    page.context.set_offline(True)
    assert "Not enough to tell: no question is answered" in the_answer(page)
    page.get_by_role("button", name="hollow cubes").first.click()
    assert "only one question is answered" in the_answer(page)
    page.locator("#call-questions summary", has_text="All questions").click()
    page.click("#all-mould_state-hollow")
    page.click("#all-dispenser_flow-slow")
    assert "filter clogged" in the_answer(page)
    before = page.locator("#call-causes").inner_text()
    open_check(page, "filter_bypass_catch")
    page.click("#found-filter_bypass_catch-no_fault")
    assert page.locator("#call-causes").inner_text() != before
    page.fill("#amount-filter_age_days", "14")
    in_address(page, "said=filter_age_days*426.1")
    page.fill("#call-unit", "U1002")
    page.get_by_role("button", name="Show its last visits").click()
    assert "No network" in page.locator("#unit-says").inner_text()
    page.context.set_offline(False)
    assert asked_of_the_server(requests) == []
    page.evaluate("fetch('/assets/likelihood.js').then(r => r.text())")
    assert len(asked_of_the_server(requests)) == 1, "a request would be seen"


def test_one_question_after_the_other_under_one_thumb(start: Callable[..., Watched]) -> None:
    page = start().open("/new-call")
    asked = []
    for _ in range(4):
        asked.append(page.locator("#next-question .ask-label").inner_text())
        page.locator("#next-question .chip").first.click()
    assert len(set(asked)) == 4
    page.click("#skip-question")
    assert page.locator("#next-question .ask-label").inner_text() not in asked
    page.locator(".told button").first.click()
    assert page.locator(".told button").count() == 3
    page.locator("#call-questions summary", has_text="All questions").click()
    page.click("#all-fill_tube_ice-no")
    assert "ice in the fill tube: no" in page.locator(".told").inner_text()


def test_call_by_keyboard_alone(start: Callable[..., Watched]) -> None:
    page = start(DESK).open("/new-call")
    tab_to(page, "#next-question .chip")
    question = page.locator("#next-question .ask-label").inner_text()
    page.keyboard.press("Enter")
    assert page.locator("#next-question .ask-label").inner_text() != question
    assert page.evaluate("document.activeElement.matches('#next-question .chip')"), "the focus goes along"
    tab_to(page, "#call-checks [data-check] .chips.findings button", most=90)
    made = page.evaluate("document.activeElement.closest('[data-check]').dataset.check")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    in_address(page, f"found={made}*no_fault")
    assert page.evaluate("document.activeElement.matches('#call-checks summary')"), "on to the next check"
    page.keyboard.press("Enter")


def test_reading_is_judged_and_the_makers_sheet_goes_first(start: Callable[..., Watched]) -> None:
    page = start().open(ANSWERED)
    open_check(page, "valve_coil_ohms")
    says = page.locator("#read-valve_coil-says")
    page.fill("#read-valve_coil", "260")
    assert says.inner_text().endswith("A good coil, not yet a good valve.")
    page.select_option("#read-valve_coil-unit", "kohm")
    assert says.inner_text().startswith("High")
    page.select_option("#read-valve_coil-unit", "ohm")
    page.click("#read-valve_coil-ol")
    assert "Open (OL)" in says.inner_text()
    page.fill("#read-valve_coil", "22")
    page.locator("[data-check=valve_coil_ohms] .sheet summary").click()
    page.fill("#sheet-valve_coil-low", "15")
    page.fill("#sheet-valve_coil-high", "30")
    assert (
        says.inner_text()
        == "Within limits by the maker's sheet: 15 to 30 ohm. A good coil, not yet a good valve."
    )
    in_address(page, "sheet=valve_coil*15*30*ohm")


def test_live_voltage_is_for_qualified_people_and_cautions_come_before_each_step(
    start: Callable[..., Watched],
) -> None:
    page = start().open(ANSWERED)
    for check in page.locator("[data-check]").all():
        caution = check.locator(".caution").text_content() or ""
        live = check.get_attribute("data-check") in ("forced_harvest", "valve_voltage_in_fill")
        assert ("Qualified people only" in caution) == live
        assert live == ("qualified people only" in (check.locator("summary").first.text_content() or ""))
        assert check.locator(".check-body > :first-child.caution").count() == 1


def test_address_restores_the_call_and_holds_nothing_personal(start: Callable[..., Watched]) -> None:
    page = start().open(FOUND)
    page.fill("#who-notes", "Key at the neighbour's, 555 0101")
    page.fill("#who-technician_id", "T17")
    open_check(page, "valve_coil_ohms")
    page.fill("#read-valve_coil", "ring Mrs Example"[:12])
    open_check(page, "freezer_temperature")
    page.fill("#read-freezer_air", "-18")
    in_address(page, "read=freezer_air*-18*degC")
    answer, address = the_answer(page), page.evaluate("location.href")
    for personal in ("neighbour", "555", "T17", "Mrs"):
        assert personal not in address
    other = start(DESK)
    again = other.open(address.removeprefix(other.site))
    assert the_answer(again) == answer
    assert again.input_value("#read-pressure_flowing") == "12"
    assert again.locator(".chip[aria-pressed=true]", has_text="hollow cubes").count() == 1
    assert again.locator("#found-pressure_static_flowing-fault").get_attribute("aria-pressed") == "true"
    assert again.evaluate("location.href") == address


def test_unit_asked_for_shows_its_visits_and_keeps_the_answers(start: Callable[..., Watched]) -> None:
    watched = start()
    page = watched.open(ANSWERED)
    page.fill("#who-notes", "second floor")
    page.fill("#call-unit", "U1001")
    page.keyboard.press("Enter")
    watched.arrive("unit=U1001")
    assert page.locator("h2").first.inner_text() == "Last calls of unit U1001, latest first"
    assert "said=mould_state*hollow" in page.url
    assert page.input_value("#who-unit_id") == "U1001"
    assert page.input_value("#who-notes") == "second floor"


def test_a_link_leads_on_from_a_call_and_back_to_it(start: Callable[..., Watched]) -> None:
    watched = start(DESK)
    page = watched.open(ANSWERED)
    page.click("#next-question .chip")
    answer = the_answer(page)
    page.locator("#pages a[href='/callbacks']").click()
    watched.arrive("/callbacks")
    assert page.locator("h1").inner_text() == "Which repairs come back?"
    page.go_back()
    watched.arrive("/new-call")
    assert the_answer(page) == answer


def test_notes_of_one_call_do_not_pass_to_the_next(start: Callable[..., Watched]) -> None:
    watched = start(DESK)
    page = watched.open(ANSWERED)
    page.fill("#who-notes", "second floor")
    page.fill("#who-technician_id", "T17")
    number = page.input_value("#who-call_id")
    page.locator("#pages a[href='/callbacks']").click()
    watched.arrive("/callbacks")
    page.wait_for_timeout(1100)  # numbers are proposed by the second
    page.locator("#pages a[href='/new-call']").click()
    watched.arrive("/new-call")
    assert page.input_value("#who-notes") == ""
    assert page.input_value("#who-technician_id") == "T17"
    assert page.input_value("#who-call_id") != number


def test_before_a_model_is_fitted(visit: Callable[..., Watched], site_without_model: str) -> None:
    page = visit(PHONE, at=site_without_model).open("/new-call?unit=U1001")
    assert "service-calls fit" in page.locator("main").inner_text()
    assert "Last calls of unit U1001" in page.locator("main").inner_text()
    assert page.locator(".tickable").count() == 5
    assert violations(page) == []


def test_job_sheet_is_one_page(start: Callable[..., Watched]) -> None:
    page = start(DESK).open(FOUND)
    page.emulate_media(media="print")
    assert page.locator(".job-sheet").is_visible()
    assert not page.locator("#call-questions").is_visible()
    assert page.pdf(prefer_css_page_size=True, format="A4").count(b"/Type /Page\n") == 1


def saved(page: Page, button: str, folder: Path) -> Path:
    with page.expect_download() as caught:
        page.click(button)
    target = folder / caught.value.suggested_filename
    caught.value.save_as(target)
    return target


def test_saved_files_load_like_any_other(start: Callable[..., Watched], tmp_path: Path) -> None:
    page = start().open(FOUND)
    page.context.set_offline(True)
    page.fill("#amount-unit_age_days", "9")
    page.select_option("#amount-freezer_celsius-unit", "degF")
    page.fill("#amount-freezer_celsius", "5")
    page.fill("#who-call_id", "N42")
    page.fill("#who-notes", '=cmd()|"A0", said "again"\nsecond line')
    page.select_option("#who-root_cause", "low_supply_pressure")
    files = [saved(page, "#save-calls", tmp_path), saved(page, "#save-checks", tmp_path)]
    page.context.set_offline(False)
    store = Store(tmp_path / "data")
    report = load_files(store, files)
    assert [each.set_aside for each in report.files] == [0, 0]
    story = Fleet(store).call("N42")
    assert (story.unit_id, story.facts["symptoms"], story.facts["standing"]) == (
        "U1001",
        ["hollow_cubes"],
        "open",
    )
    assert story.facts["cause"] == "low_supply_pressure"
    said = dict(story.said.select("answer", "code").iter_rows())
    assert (said["mould_state"], said["dispenser_flow"], said["unit_age"]) == ("hollow", "slow", "years")
    assert said["freezer_temperature"] == "reading"
    assert story.said.filter(answer="freezer_temperature")["written"].to_list() == ["reads -15 C"]
    made = story.checks.select("check", "reading", "reading_unit", "state", "finding")
    assert sorted(made.filter(pl.col("reading").is_not_null()).rows()) == [
        ("pressure_static_flowing", 12.0, "psi", "flowing", "fault"),
        ("pressure_static_flowing", 55.0, "psi", "still", "fault"),
        ("valve_coil_ohms", 260.0, "ohm", None, None),
    ]
    assert made.filter(check="switch_arm_bin")["finding"].to_list() == ["no_fault"]


def test_nothing_is_saved_without_the_numbers(start: Callable[..., Watched]) -> None:
    page = start().open(ANSWERED)
    assert "give the number of the unit" in page.locator("#call-keep").inner_text()
    assert page.locator("#save-calls").get_attribute("aria-disabled") == "true"
