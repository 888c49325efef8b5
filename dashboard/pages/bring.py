"""Bring a file: choose it, see what it looks like, say what its columns mean, try it, keep it."""

from datetime import date

from dash import html
from dash.development.base_component import Component

from analytics.errors import ServiceCallError
from analytics.intake.bringing import ASKING, KEEPING, KEPT, LOOKING, STUCK, TRIED, TRYING, Bringing, Stage
from analytics.intake.bringing_answers import missing
from analytics.intake.contract import table_named
from dashboard.components.answer import Words, answer
from dashboard.components.bringing import ROLE, chooser, looks, which_records, working
from dashboard.components.bringing_map import leaving, mapping_form
from dashboard.components.bringing_report import account, deciding, retry, told
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import notices, problem
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted

QUESTION = "Which file do you want to bring?"
TITLES = {
    LOOKING: "What does {name} hold?",
    ASKING: "What does {name} hold?",
    STUCK: "What is the matter with {name}?",
    TRYING: "What would become of {name}?",
    TRIED: "What would become of {name}?",
    KEEPING: "What becomes of {name}?",
    KEPT: "What became of {name}?",
}


def content(view: View) -> Content:
    """Return the page: of one file that was brought, or to bring one."""
    desk = view.fleet.bringing()
    token = view.address.options.get("file", "")
    if not token:
        return _choosing(desk)
    try:
        stage = desk.stage(token)
        if stage.step == ASKING or view.address.options.get("step") == "map":
            stage = desk.ask(token)
    except ServiceCallError as error:
        return page(QUESTION, problem(str(error)), evidence(chooser(desk.waiting())))
    return page(
        TITLES[stage.step].format(name=stage.brought.name),
        *_notices(stage, view.address.options.get("open", "")),
        answer(_said(stage)),
        evidence(*_parts(desk, stage)),
        _counting(),
    )


def _choosing(desk: Bringing) -> Content:
    waiting = desk.waiting()
    said: Words = ["An export of your system, as it is: its own columns, words and dates."]
    if waiting:
        said = [f"{counted(len(waiting), 'file')} brought and not loaded yet. ", *said]
    return page(QUESTION, answer(said), evidence(chooser(waiting)), _counting())


def _notices(stage: Stage, opened: str) -> list[Component]:
    sentences = [stage.problem] if stage.problem else []
    if opened and stage.step == ASKING and stage.answers is not None:
        sentences += missing(stage.answers, stage.suggested, stage.look["header"], date.today()) or [
            "Other columns are chosen now. Look once more at the questions on them, then try it."
        ]
    return notices(sentences)


def _said(stage: Stage) -> Words:
    if stage.step in (LOOKING, TRYING, KEEPING):
        return [
            {
                LOOKING: "It is being looked at.",
                TRYING: "It is being tried: everything is read and counted, and nothing is kept.",
                KEEPING: "It is being loaded.",
            }[stage.step]
        ]
    if stage.step == STUCK:
        return ["Nothing was changed."]
    if stage.step == ASKING:
        needed = table_named(stage.suggested["table"]).missing(
            set(stage.answers.columns if stage.answers else ())
        )
        there = (
            "All that is needed is there" if not needed else f"{counted(len(needed), 'column')} still needed"
        )
        return [f"{there}. Check what its columns mean, then try it; nothing is kept yet."]
    known: Words = []
    if stage.known and stage.step == TRIED:
        known = [
            f" Its columns are known: it is read as “{stage.known['name']}”, "
            f"version {stage.known['version']}."
        ]
    if stage.report["files"][0]["already_loaded"]:
        return ["This very file was loaded before, in the same way; keeping it changes nothing.", *known]
    end = " Nothing is kept yet." if stage.step == TRIED else " The file itself was removed."
    return [*told(stage.report, stage.step == KEPT), *known, end]


def _parts(desk: Bringing, stage: Stage) -> list[Component]:
    if stage.step in (LOOKING, TRYING, KEEPING):
        return [working(stage)]
    if stage.step == STUCK:
        return [retry(stage), *([which_records(stage)] if stage.suggested else [])]
    if stage.step == ASKING:
        return [
            looks(stage),
            which_records(stage),
            mapping_form(stage, desk.catalogue().labels),
            leaving(stage),
        ]
    if stage.step == TRIED:
        return [deciding(stage), account(stage), looks(stage)]
    return [account(stage), _next(stage)]


def _next(stage: Stage) -> Component:
    kept = (
        f"How it was read is kept as “{stage.report['mapping']}”, version {stage.report['version']}. A file "
        "with the same columns is known again by it."
    )
    links = [
        html.Li(html.A("Which repairs come back?", href="/callbacks")),
        html.Li(html.A("How are our repairs doing?", href="/")),
        html.Li(html.A("What was loaded, and how complete is it?", href="/data")),
        html.Li(html.A("Bring another file", href="/bring")),
    ]
    return html.Div([html.P(kept, className="prose"), html.Ul(links, className="plain")])


def _counting() -> Component:
    return counted_how(
        [
            "A file is written to the disk of this store as it comes, under a name of our own. It is "
            "removed when "
            "it is kept or dropped, and after a day in any case.",
            "The trial reads, sorts and counts every row as a load does, and then throws the result away. A "
            "row "
            "is new, changed, known already, or set aside with a reason; these add up to the rows of the "
            "file.",
            "A file is known again when it has exactly the same columns as one that was kept; how that one "
            "was "
            "read is then used, and can be changed before anything is kept.",
        ]
    )


PAGE = Page(
    "/bring",
    "Bring a file",
    QUESTION,
    content,
    parameters=("file", "step", "open"),
    filtered=False,
    in_navigation=False,
    newest=True,
    without_data=True,
    role=ROLE,
)
