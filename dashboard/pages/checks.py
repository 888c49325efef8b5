"""Which checks find the fault? How often and how fast, what was not recorded, and what was proved."""

from dash import html
from dash.development.base_component import Component

from analytics.questions.checks import CHECKED_BY, Checks
from dashboard.address import to_calls
from dashboard.components.answer import Words, answer, calls_link
from dashboard.components.cautions import caution_list
from dashboard.components.checking import checks_exhibit, groups_exhibit, unrecorded_exhibit
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.proving import proof_exhibit, valves_exhibit, valves_in_words
from dashboard.components.sentence import sentence
from dashboard.components.states import needs, no_calls, notices
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, interval, number, percent

QUESTION = "Which checks find the fault?"
HOW = (
    "A check finds it when it found a fault, the catalogue says that it reveals what it turned out to be "
    "in the end, and the call stayed fixed. The share is over all times it was made on strings of returns "
    "whose last closing is 30 days past, those with the cause unknown or with another return included, so "
    "that it is a lower limit. Strings are joined by 30 days and the same kind of complaint, whatever is "
    "chosen above; days and complaint chosen there hold for the shares that came back.",
    "Ruled out correctly: of the times it found no fault, where the cause is known and the call stayed "
    "fixed, those on which it was no cause that the check reveals.",
    "Found an hour: faults found over the minutes recorded for making it, of the times with minutes. "
    "Setting up (bin out, kick plate off, unit pulled out) and waiting are in it only where they were "
    "written down. The interval takes units for what was sampled; below five units with a find there is "
    "none. Checks that reveal no cause, such as the proof of the repair, are not among them.",
    "Could have shown it: calls that came back within 30 days for the same kind of complaint, with a "
    "check recorded and the cause known in the end, on which none of the checks that reveal that cause is "
    "recorded; each weighted by the share of times that the catalogue says the check reveals it. Their "
    "hours on site are those of the returns, as far as visits are timed.",
    "Proof and evidence are read from the whole call. Customers are asked mostly where nobody rang again, "
    "so that their answers say nothing about how often repairs come back.",
    "Other intervals are Wilson's at 95%, that of the difference Newcombe's; both take calls for "
    "independent. Nothing is adjusted for the mix of work.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", CHECKED_BY, CHECKED_BY[0])
    found = view.fleet.checks(view.filters, by)
    filters = sentence(view.address, view.choices, view.path)
    if not found.repairs:
        return page(QUESTION, filters, no_calls(view.path))
    people = notices(about_people(view.filters))
    if not found.calls + found.too_soon + found.unfinished:
        none = needs("What checks find", "check", "checks")
        said = answer(["On none of these calls is a check recorded."])
        return page(QUESTION, people, filters, said, evidence(none), counted_how(HOW))
    return page(
        QUESTION,
        people,
        filters,
        answer(
            _best(view, found),
            _missing(view, found),
            valves_in_words(view.filters, found.valves),
            aside=_aside(view, found),
        ),
        evidence(
            checks_exhibit(view.filters, found) if found.made else None,
            groups_exhibit(view.filters, found, by) if found.made else None,
            unrecorded_exhibit(view.filters, found.unrecorded),
            valves_exhibit(view.filters, found.valves),
            proof_exhibit(view.filters, found.proof),
            caution_list(found.checks),
        ),
        counted_how(HOW, _left_out(view, found)),
    )


def _best(view: View, found: Checks) -> Words:
    known = found.checks.filter(found.checks["per_hour_low"].is_not_null())
    if known.is_empty():
        return ["Too few faults were found by checks to say which finds most for its time."]
    row = known.row(0, named=True)
    over = html.A(number(row["found"]), href=to_calls(view.filters, "check_found", row["check"]))
    of = html.A(number(row["made"]), href=to_calls(view.filters, "check_made", row["check"]))
    return [
        "Most faults for its time are found by: ",
        html.Strong(row["label"]),
        f", {number(row['per_hour'], 1)} an hour (95% interval {number(row['per_hour_low'], 1)} to "
        f"{number(row['per_hour_high'], 1)}). It found the fault ",
        over,
        " of ",
        of,
        f" times it was made ({percent(row['rate'], row['made'])}; 95% interval "
        f"{interval(row['low'], row['high'], row['made'])}), in {number(row['minutes'], 1)} minutes.",
    ]


def _missing(view: View, found: Checks) -> Words:
    rate = found.unrecorded.rate
    if not rate.denominator:
        return []
    over = calls_link(
        rate.numerator, view.filters, "check_not_recorded", "calls without a check that shows it"
    )
    of = calls_link(rate.denominator, view.filters, "check_back", "calls that came back, cause known")
    share = percent(rate.rate, rate.denominator)
    limits = f" ({share}; 95% interval {interval(rate.low, rate.high, rate.denominator)})" if share else ""
    hours = number(found.unrecorded.minutes / 60, 0 if found.unrecorded.minutes >= 600 else 1)
    return [
        "On ",
        over,
        " of ",
        of,
        f" calls that came back{limits}, no check was recorded that could have shown the cause: "
        f"{counted(found.unrecorded.returns, 'return')}, with ",
        html.Strong(f"{hours} hours on site"),
        ".",
    ]


def _aside(view: View, found: Checks) -> Words:
    words: Words = ["Checks were made because the cause was suspected."]
    if found.too_soon:
        link = html.A(counted(found.too_soon, "call"), href=to_calls(view.filters, "checks_too_soon"))
        verb = "is" if found.too_soon == 1 else "are"
        words += [" ", link, f" with a check {verb} too soon to say."]
    return words


def _left_out(view: View, found: Checks) -> list[tuple[str, Component | str]]:
    settled = html.A(number(found.calls), href=to_calls(view.filters, "checks_settled"))
    counts: list[tuple[str, Component | str]] = [("Calls with a check, 30 days up", settled)]
    apart = {
        "Left out: too soon to say": found.too_soon,
        "Left out: no completed repair yet": found.unfinished,
        "Left out: checks in words not recognised": found.not_recognised,
        "Came back without such a check, though its cause was recorded": found.unrecorded.same_cause,
    }
    return counts + [(words, number(count)) for words, count in apart.items() if count]


PAGE = Page("/checks", "Checks", QUESTION, content, parameters=("by",))
