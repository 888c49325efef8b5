"""The page on wrong turns: its answer, its links, its prices, and what it says where little is known."""

from urllib.parse import parse_qs, urlsplit

from dashboard.app import draw
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import links, text


def page(search: str = "", fleet: FakeFleet | None = None) -> list:
    return draw(fleet or FakeFleet(), "/wrong-turns", search)[0]  # type: ignore[arg-type]


def test_answer_has_the_share_its_limit_and_the_costliest_turn() -> None:
    words = text(page())
    assert "5.1% of calls with a known end were first taken for something else ( 223 of 4,388 ; 95%" in words
    assert "at most so many wrong diagnoses, because a second fault looks the same" in words
    assert "On 89 (2.0%) what was found first was right and something lay behind it" in words
    turn = (
        "“ice maker control failed” was thought, and it was “fill tube frozen” , 179 calls with 179 returns"
    )
    assert turn in words
    assert "A wrong turn takes 1.50 further visits on average, a right first thought 0.20." in words
    assert words.index("were first taken") < words.index("Thought first, and what it was")


def test_went_deeper_and_something_else_are_kept_apart() -> None:
    words = text(page())
    wrong = words.index("The costliest: “ice maker control failed”")
    deeper = words.index("Right, but not to the bottom: fill tube frozen, behind it inlet valve seeping")
    assert wrong < deeper
    assert "was: inlet valve seeping" in words[wrong:deeper]
    assert "behind it: inlet valve seeping" not in words[wrong:deeper]


def test_every_number_opens_its_calls() -> None:
    asked = [parse_qs(urlsplit(link).query) for link in links(page("?depot=north&depot=hills"))]
    opened = {
        (query["subset"][0], query.get("only", [""])[0])
        for query in asked
        if query.get("depot") == ["north", "hills"] and "subset" in query
    }
    assert opened >= {
        ("thought_different", "module_failed:fill_tube_frozen"),
        ("thought_different", "module_failed:"),
        ("thought_deeper", "fill_tube_frozen:inlet_valve_seeping"),
        ("thought_none_found", "no_fault_found:fill_tube_frozen"),
        ("thought_known", "module_failed:"),
        ("thought_unknown", "no_fault_found:"),
        ("part_not_cause", "inlet_valve"),
        ("part_not_cause", ""),
        ("thought_too_soon", ""),
    }


def test_calls_page_names_the_turn_and_refuses_a_strange_one() -> None:
    def shown(search: str) -> str:
        return text(draw(FakeFleet(), "/calls", search)[0])  # type: ignore[arg-type]

    only = "subset=thought_different&only=module_failed:fill_tube_frozen"
    assert "(thought: ice maker control failed; was: fill tube frozen)" in shown(f"?{only}")
    assert "(inlet valve)" in shown("?subset=part_not_cause&only=inlet_valve")
    for strange in ("<script>:x", "module_failed", "a:b:c", ":"):
        words = shown(f"?subset=thought_different&only={strange}")
        assert "first taken for something else ." in words.replace("else.", "else .")
        assert "script" not in words


def test_own_prices_change_the_money_and_are_said() -> None:
    usual, own = text(page()), text(page("?hour_price=120"))
    assert "by the program's assumptions" in usual
    assert "by 1 assumption of your own" in own
    assert "26,850 in all" in usual
    assert "42,960 in all" in own


def test_people_come_with_what_can_not_be_said() -> None:
    words = text(page("?technician=T01"))
    assert words.index("can not say who works well") < words.index("were first taken")


def test_few_calls_get_no_percentage() -> None:
    words = text(page(fleet=FakeFleet(calls=50)))
    assert "too few" in words
    assert "nan" not in words
    assert "inf " not in words


def test_without_a_known_end_the_page_says_what_is_needed() -> None:
    fleet = FakeFleet()
    fleet.diagnoses_recorded = False
    words = text(page(fleet=fleet))
    assert "Of none of these calls is it known what it turned out to be." in words
    assert "needs the column first_diagnosis of the calls file" in words


def test_steps_not_recorded_and_what_followed() -> None:
    words = text(page())
    said = (
        "Most often not recorded before the diagnosis: proof of the repair , on 1,792 of 2,240 calls (80.0%;"
    )
    assert said in words
    assert (
        "Without “what is in the mould” calls were first taken for something else more often by 3.0 points"
        in words
    )
    assert "Not recorded is not the same as not done." in words
    assert "an association is no proof that the step would have helped" in words
    assert (
        "Left out: 746 calls of 2 technicians who record checks on fewer than half of their visits." in words
    )
    assert "T01" not in words[words.index(said) :], "nobody is named"
    assert "+2.0 0.4 to 3.6 yes" in words


def test_steps_open_their_calls() -> None:
    asked = [parse_qs(urlsplit(link).query) for link in links(page("?depot=north"))]
    opened = {
        (query["subset"][0], query["only"][0])
        for query in asked
        if "only" in query and query.get("depot") == ["north"]
    }
    assert opened >= {
        ("habit_missing", "mould_state"),
        ("habit_calls", "proof_of_repair"),
        ("habit_missing_different", "mould_state"),
        ("habit_recorded_came_back", "proof_of_repair"),
    }
    assert ("habit_missing_different", "proof_of_repair") not in opened
    words = text(draw(FakeFleet(), "/calls", "?subset=habit_missing&only=mould_state")[0])  # type: ignore[arg-type]
    assert "the step is not recorded (what is in the mould)" in words


def test_few_calls_claim_no_difference() -> None:
    words = text(page(fleet=FakeFleet(calls=50)))
    assert "No step that is missing goes with worse calls by more than chance." in words
    assert "How calls fared without a step can not be told from chance" in words
