"""What should we teach next, and to whom? Causes by whether a lesson can help; lessons by what they save."""

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.teaching import Teaching
from analytics.teaching_assumptions import TeachingAssumptions
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.assumed import assumed_form, assumed_in, assumed_table, options_of
from dashboard.components.attributes import spoken
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, twin
from dashboard.components.lists import pager
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people_taught
from dashboard.components.sentence import depot_choice
from dashboard.components.states import no_calls, notices
from dashboard.components.taught import (
    VERDICT_WORDS,
    between,
    cause_table,
    hours,
    lesson_name,
    lesson_table,
)
from dashboard.figures.groups import intervals
from dashboard.figures.look import Figure
from dashboard.pages.teaching_counted import HOW, facts
from dashboard.pages.teaching_habits import habits
from dashboard.pages.teaching_new import come_on
from dashboard.pages.teaching_people import about_who, who
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, listed, number, percent

QUESTION = "What should we teach next, and to whom?"
CAUSES_A_PAGE = 20
MOST_DRAWN = 12


def content(view: View) -> Content:
    """Return the page."""
    assumed, problems = assumed_in(view.address, TeachingAssumptions)
    asked = view.fleet.meanwhile(
        lambda fleet: (fleet.teaching_habits(view.filters), fleet.new_technicians(view.filters))
    )
    found = view.fleet.teaching(view.filters, assumed)
    checking, new = asked()
    sentence = _sentence(view, found)
    if not found.strings and found.causes.is_empty():
        return page(QUESTION, notices(problems), sentence, no_calls(view.path))
    return page(
        QUESTION,
        notices([*problems, *(about_people_taught() if about_who(view, found).named else [])]),
        sentence,
        answer(_next(found), _sorted(found), aside=_about(found)),
        evidence(
            _plan(view, found) if found.plan.height else None,
            _causes(view, found) if found.causes.height else None,
            who(view, found) if found.plan.height else None,
            habits(view, checking),
            come_on(view, new),
            _assumed(view, found),
        ),
        counted_how(HOW, facts(found)),
    )


def _sentence(view: View, found: Teaching) -> Component:
    kept = href("", None, **options_of(found.assumed)).removeprefix("?")
    controls = html.Div([depot_choice(view.filters, view.choices), ", all that can be judged."])
    return html.Form(controls, className="sentence", **spoken("Which calls", keep=kept))


def _next(found: Teaching) -> Words:
    if found.plan.is_empty():
        return [
            html.Strong("Nothing can be shown to be a matter for teaching yet"),
            ": no trouble differs between technicians by more than chance and the mix of work, and enough "
            "to be "
            "worth a lesson.",
        ]
    first = found.plan.row(0, named=True)
    return [
        "Teach next: ",
        html.Strong(lesson_name(first["what"], first["label"])),
        f". A lesson of {number(found.assumed.lesson_minutes)} minutes for {_attending(found)} would save "
        "about "
        f"{hours(first['saved'])} hours a year (95% interval "
        f"{between(first['saved_low'], first['saved_high'])}), "
        f"{hours(first['per_hour'])} for an hour taught. Counting the hours of those who attend too, it is "
        f"{first['per_hour_of_all']:.2f} for an hour in the first year. ",
        html.A("Cases to teach it with", href=href("/lesson", None, cause=first["cause"])),
        ".",
    ]


def _attending(found: Teaching) -> str:
    return f"{counted(round(found.attend), 'technician')} of {number(found.at_work)}"


def _sorted(found: Teaching) -> Words:
    counts = dict(found.causes.group_by("verdict").len().iter_rows())
    words = {
        "teach": "can be taught",
        "look": "no teaching matter (look at the part or the information)",
        "few": "with too few calls to tell",
        "little": "with little to gain",
    }
    said = [f"{number(counts[code])} {words[code]}" for code in VERDICT_WORDS if counts.get(code)]
    return [f"Of {counted(found.causes.height, 'trouble')} looked at: {listed(said)}."] if said else []


def _about(found: Teaching) -> Words:
    words = f"{counted(found.strings, 'string')} of returns, over by {day(found.until)}"
    return [f"{words}, since {day(found.since)}; by the assumptions below. ", *_elsewhere()]


def _elsewhere() -> Words:
    return [
        "What is mistaken for what: ",
        html.A("wrong turns", href="/wrong-turns"),
        ". Real calls to teach with, and whether it worked: ",
        html.A("lessons", href="/lessons"),
        ".",
    ]


def _csv(view: View, found: Teaching, table: str, **options: str) -> str:
    return href("/export.csv", view.filters, table=table, **{**options_of(found.assumed), **options})


def _plan(view: View, found: Teaching) -> Component:
    lessons = counted(found.plan.height, "lesson")
    best = found.plan["per_hour"].max()
    assert isinstance(best, float)
    assumed = found.assumed
    return exhibit(
        f"{lessons} worth giving, the best saves {hours(best)} hours for an hour taught",
        lesson_table(found),
        lead=f"By {number(assumed.lesson_minutes)} minutes a lesson, {_attending(found)} attending, a "
        "lesson that "
        f"closes {number(assumed.gap_closed)}% of the way to the best quarter, and "
        f"{number(assumed.return_minutes)} minutes a return. Dot: hours saved; line: 95% interval, from "
        "that of "
        "the spread alone.",
        tools=[
            keep_png(
                href("/figure.json", view.filters, chart="teaching_plan", **options_of(assumed)),
                "teaching-plan",
                "lessons",
            ),
            keep_csv(_csv(view, found, "teaching_plan"), "lessons"),
        ],
        id="plan",
    )


def in_order(causes: pl.DataFrame) -> pl.DataFrame:
    """Order causes as the page does: by what follows, most hours to gain first."""
    rank = {code: at for at, code in enumerate(VERDICT_WORDS)}
    return causes.sort(
        [pl.col("verdict").replace_strict(rank, return_dtype=pl.Int64), pl.col("hours").fill_null(-1.0)],
        descending=[False, True],
        maintain_order=True,
    )


def drawn(causes: pl.DataFrame) -> Figure:
    """Return the chart of how far technicians differ, of causes in the order of the page."""
    rows = in_order(causes).filter(pl.col("spread").is_not_null()).head(MOST_DRAWN)
    return intervals(
        pl.DataFrame(
            {
                "label": [
                    f"{_short(row['label'])} ({_WHAT[row['what']]})" for row in rows.iter_rows(named=True)
                ],
                "value": rows["spread"],
                "low": rows["spread_low"],
                "high": rows["spread_high"],
                "note": [f"{hours(each)} h" for each in rows["hours"]],
            }
        ),
        shares=False,
    )


_WHAT = {"thought": "diagnosis", "held": "repair"}


def _short(label: str) -> str:
    return label if len(label) <= 24 else label[:22].rstrip(" ,:") + "…"


def _causes(view: View, found: Teaching) -> Component:
    rows = in_order(found.causes)
    at = view.address.page_number()
    shown = rows.slice((at - 1) * CAUSES_A_PAGE, CAUSES_A_PAGE)
    options = options_of(found.assumed)
    pages = (
        [
            pager(
                "causes",
                rows.height,
                at,
                lambda page: href(view.path, view.filters, page=page, **options) + "#causes",
                CAUSES_A_PAGE,
            )
        ]
        if rows.height > CAUSES_A_PAGE
        else []
    )
    rules = found.rules
    return exhibit(
        _finding(found),
        [
            cause_table(view.filters, shown),
            *pages,
            twin(assumed_table(rules, "Rules"), "The rules"),
        ],
        lead="Dot: what would be avoided if everybody did as well as the best quarter of the fitted "
        "distribution of "
        "skill; line: 95% interval; diamond: to be taught. Teach: technicians differ by more than chance, "
        "many looks "
        f"allowed for, and at least {number(rules.least_hours)} hours a year are to be gained. Not a "
        "teaching matter: "
        f"they differ little (spread below {rules.small_spread:g} at its upper limit), and the trouble "
        "costs at least "
        f"{number(rules.common_hours)} hours a year. Little to gain: below {number(rules.least_hours)} "
        "hours at the "
        "upper limit. Else too few calls to tell.",
        tools=[
            keep_png(
                href("/figure.json", view.filters, chart="teaching_spread", **options), "spread", "spread"
            ),
            keep_csv(_csv(view, found, "teaching_causes"), "causes"),
        ],
        id="causes",
    )


def _finding(found: Teaching) -> str:
    tested = found.causes.filter(pl.col("spread").is_not_null()).height
    teach = found.causes.filter(pl.col("verdict") == "teach").height
    looked = counted(tested, "trouble")
    return f"Technicians differ enough to teach in {number(teach)} of {looked} with enough calls"


def _assumed(view: View, found: Teaching) -> Component:
    changed = len(found.assumed.changed())
    return exhibit(
        f"{counted(changed, 'assumption')} of your own" if changed else "Put your own lesson in",
        [
            assumed_form(view.filters, found.assumed, {}),
            twin(
                assumed_table(found.assumed, "What a lesson costs and brings"),
                "Where the assumptions come from",
            ),
        ],
        lead=f"What the records do not say. {percent(found.reached, found.at_work) or 'Some'} of the "
        "technicians "
        "at work are reached by one lesson. What you type stands in the address, and can be sent with it.",
        id="assumed",
    )


PAGE = Page(
    "/teaching",
    "Teaching",
    QUESTION,
    content,
    parameters=("lesson", "names", "page", *TeachingAssumptions.described()),
    filtered=False,
)
