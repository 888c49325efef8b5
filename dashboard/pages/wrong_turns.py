"""Where do we take the wrong turn? What was thought first against what it turned out to be, and its cost."""

from dash import html
from dash.development.base_component import Component

from analytics.cost_assumptions import CostAssumptions, described
from analytics.questions.wrong_turns import WrongTurns
from analytics.rates import Rate
from dashboard.address import href
from dashboard.components.answer import Words, answer, calls_link, rate_in_words
from dashboard.components.assumed import assumed_form, assumed_in, assumed_table
from dashboard.components.exhibit import exhibit, twin
from dashboard.components.habits import fared_exhibit, habits_exhibit, habits_in_words
from dashboard.components.money import money
from dashboard.components.not_the_cause import parts_exhibit
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import sentence
from dashboard.components.states import needs, no_calls, notices
from dashboard.components.turning import (
    SECOND_FAULT,
    deeper_exhibit,
    firsts_exhibit,
    in_words,
    none_found_exhibit,
    to_turns,
    turns_exhibit,
)
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, number, percent

QUESTION = "Where do we take the wrong turn?"
HOW = (
    "Counted are strings of returns, each by its first call: calls joined by returns within 30 days for "
    "the same kind of complaint, whatever days and complaint are chosen above, once 30 days have passed "
    "since the last closing. What was thought first is the first diagnosis recorded on the first call, "
    "else that call's cause; what it turned out to be is the cause recorded on the last completed call, "
    "never “no fault found”.",
    "Something else: the two differ. It is an upper limit on wrong diagnoses, because a second fault in "
    "the same weeks looks the same. Went deeper: the catalogue says that the second can lie behind the "
    "first, as a valve that seeps behind a frozen fill tube. On a call that stayed fixed without a first "
    "diagnosis beside its cause nothing can show a wrong thought: it counts as right, so that the shares "
    "are too low where few first diagnoses are recorded.",
    "Cost: what followed the first visit, up to the end of the string: returns at the price of office "
    "work, visits at which somebody let us in at the price of travel and of their minutes on site, and "
    "parts fitted before the last call that by the catalogue do not answer what it turned out to be, at "
    "the cost recorded. Some further visits come to right first thoughts too, for a part on order say; "
    "the answer above has both averages. The interval takes units for what was sampled (a ratio of totals "
    "over units); below five units there is none.",
    "Agreement beyond chance is Cohen's kappa: 0 where first thoughts are no better than guessing with "
    "the same shares, 1 where all are right. Going deeper counts as not agreeing; no fault found is left "
    "out. Other intervals are Wilson's at 95%; nothing is adjusted for the mix of work.",
    "Steps: recorded on the first visit at which somebody let us in, or for the call without naming a "
    "visit, whatever was found; an answer of the customer counts too, whoever asked. Later visits are not "
    "looked at, because a call that went wrong has more of them and so more steps. The proof may stand on "
    "any visit, and must not have found a fault. Left out are calls without a visit, and technicians who "
    "record checks on fewer than half of their visits.",
    "How calls fared: mean of calls without the step less that of calls with it, within kind of "
    "complaint, product family and band of filter age, weighted as by Mantel and Haenszel; calls without "
    "a like call on the other side say nothing. The interval comes from sums over technicians, or over "
    "units where that is wider. Of the differences said to be more than chance, 5% are not, on average "
    "(Benjamini-Hochberg).",
)


def content(view: View) -> Content:
    """Return the page."""
    assumed, problems = assumed_in(view.address, CostAssumptions)
    found, habits = view.fleet.wrong_turns(view.filters, assumed), view.fleet.habits(view.filters)
    filters = sentence(view.address, view.choices, view.path)
    if not found.calls + found.too_soon:
        return page(QUESTION, notices(problems), filters, no_calls(view.path))
    people = notices([*problems, *about_people(view.filters)])
    if not found.known:
        none = needs("What was thought first", "first_diagnosis", "calls")
        said = answer(
            ["Of none of these calls is it known what it turned out to be."], aside=_aside(view, found)
        )
        return page(QUESTION, people, filters, said, evidence(none), counted_how(HOW))
    return page(
        QUESTION,
        people,
        filters,
        answer(
            _share(view, found),
            _costliest(view, found),
            _parts(view, found),
            habits_in_words(view.filters, habits),
            aside=_aside(view, found),
        ),
        evidence(
            turns_exhibit(view.filters, found),
            firsts_exhibit(view.filters, found),
            deeper_exhibit(view.filters, found),
            none_found_exhibit(view.filters, found),
            parts_exhibit(view.filters, found),
            habits_exhibit(view.filters, habits),
            fared_exhibit(view.filters, habits),
            _assumed(view, found),
        ),
        counted_how((*HOW, *_effect(found)), _facts(view, found)),
    )


def _share(view: View, found: WrongTurns) -> Words:
    words = rate_in_words(
        found.different,
        "of calls with a known end were first taken for something else",
        view.filters,
        "thought_different",
        "thought_known",
    )
    return [
        *words,
        f": at most so many wrong diagnoses, because {SECOND_FAULT}. On ",
        *_also(view, found.went_deeper, "thought_deeper"),
        " what was found first was right and something lay behind it; on ",
        *_also(view, found.none_found, "thought_none_found"),
        " no fault was found first.",
    ]


def _also(view: View, rate: Rate, subset: str) -> Words:
    share = percent(rate.rate, rate.denominator)
    count = calls_link(rate.numerator, view.filters, subset, f"calls, {rate.name.replace('_', ' ')}")
    return [count, f" ({share})"] if share else [count]


def _costliest(view: View, found: WrongTurns) -> Words:
    rows = found.turns()
    if rows.is_empty():
        return []
    row = rows.row(0, named=True)
    calls = html.A(
        counted(row["calls"], "call"),
        href=to_turns(view.filters, "different", row["first_thought"], row["final_cause"]),
    )
    wrong, right = found.after("different"), found.after("right")
    words: Words = [
        "The costliest wrong turn: ",
        html.Strong(in_words(row)),
        ", ",
        calls,
        f" with {counted(row['returns'], 'return')}, {counted(row['visits'], 'further visit')}, "
        f"{number(row['minutes'] / 60, 1)} hours on site and {counted(round(row['parts']), 'part')} that "
        f"{'was' if round(row['parts']) == 1 else 'were'} not the cause, {money(row['money'])} in all.",
    ]
    if wrong is not None and right is not None and percent(0.0, found.different.numerator):
        words.append(
            f" A wrong turn takes {number(wrong, 2)} further visits on average, a right first thought "
            f"{number(right, 2)}."
        )
    return words


def _parts(view: View, found: WrongTurns) -> Words:
    fitted = round(found.parts["parts"].sum())
    if not fitted:
        return []
    link = html.A(counted(fitted, "part"), href=href("/calls", view.filters, subset="part_not_cause"))
    were = "was" if fitted == 1 else "were"
    return [
        link,
        f" {were} fitted that {were} not the cause, for {money(float(found.parts['money'].sum()))}.",
    ]


def _aside(view: View, found: WrongTurns) -> Words:
    changed = len(found.assumptions.changed())
    own = f"{counted(changed, 'assumption')} of your own" if changed else "the program's assumptions"
    words: Words = [f"Money is in the company's own unit, by {own}, below."]
    if found.too_soon:
        link = html.A(
            counted(found.too_soon, "call"), href=href("/calls", view.filters, subset="thought_too_soon")
        )
        words += [" ", link, f" {'is' if found.too_soon == 1 else 'are'} too soon to say."]
    return words


def _assumed(view: View, found: WrongTurns) -> Component:
    changed = len(found.assumptions.changed())
    return exhibit(
        f"{counted(changed, 'assumption')} of your own" if changed else "Put your own prices in",
        [
            assumed_form(view.filters, found.assumptions, {}),
            twin(assumed_table(found.assumptions), "Where the assumptions come from"),
        ],
        lead="What the records do not say. What you type stands in the address, and can be sent with it.",
        id="assumed",
    )


def _effect(found: WrongTurns) -> list[str]:
    effect = found.different.design_effect
    return (
        []
        if effect is None
        else [f"Calls of one unit are not quite independent: design effect {effect:.2f}."]
    )


def _facts(view: View, found: WrongTurns) -> list[tuple[str, Component | str | list[Component | str]]]:
    known = calls_link(
        found.known, view.filters, "thought_known", "calls with a first thought and a known end"
    )
    facts: list[tuple[str, Component | str | list[Component | str]]] = [
        ("First calls whose 30 days are up", number(found.calls)),
        ("Of them, what was thought first and what it was are known", known),
        ("Counted as right with nothing recorded that could show otherwise", number(found.unsaid)),
    ]
    if (agreed := found.kappa) is not None:
        limits = f"95% interval {agreed.low:.2f} to {agreed.high:.2f}; {number(agreed.things)} calls"
        facts.append(("Agreement beyond chance (kappa)", f"{agreed.kappa:.2f} ({limits})"))
    return facts


PAGE = Page(
    "/wrong-turns", "Wrong turns", QUESTION, content, parameters=tuple(described()), in_navigation=False
)
"""Where a lesson would begin: reached from the page on teaching."""
