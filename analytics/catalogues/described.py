"""Makes the tables of docs/catalogue.md; `python -m analytics.catalogues.described` writes them anew.

On the page each table stands between two comment lines that name it, so that what is written by hand stays.
"""

from collections.abc import Iterable
from pathlib import Path

from analytics.catalogue import Catalogue, load_catalogue

PAGE = Path(__file__).parents[2] / "docs" / "catalogue.md"


def tables(catalogue: Catalogue) -> dict[str, str]:
    """Every table of the page, in Markdown, by its name."""
    c = catalogue
    return {
        "families": _table(
            ("family", "code", "symptoms"),
            (
                (f.label, f.code, [s.code for s in c.symptoms.values() if s.family == f.code])
                for f in c.families.values()
            ),
        ),
        "symptoms": _table(
            ("code", "symptom", "family", "phrases", "standing"),
            ((s.code, s.label, s.family or "none", len(s.phrases), s.standing) for s in c.symptoms.values()),
        ),
        "causes": _table(
            ("code", "cause", "signs", "goes deeper than", "whose", "marks", "standing"),
            (
                (k.code, k.label, k.signs, k.goes_deeper_than, k.whose, _marks(k), k.standing)
                for k in c.causes.values()
            ),
        ),
        "setups": _table(
            ("code", "set-up", "minutes", "built in", "standing"),
            ((s.code, s.label, s.minutes, s.built_in_minutes, s.standing) for s in c.setups.values()),
        ),
        "cautions": _table(("class", "caution"), c.cautions.items()),
        "checks": _table(
            ("code", "check", "set-up", "minutes", "caution", "reveals", "standing"),
            (
                (
                    k.code,
                    k.label + (f" ({k.tells})" if k.tells else ""),
                    [s for s in (k.setup, k.setup_or) if s],
                    f"{k.minutes:g}" + (f" + {k.beside_minutes:g} beside others" if k.beside_minutes else ""),
                    [k.caution, *k.cautions],
                    [f"{cause} {share:g}" for cause, share in k.reveals.items()],
                    k.standing,
                )
                for k in c.checks.values()
            ),
        ),
        "limits": _table(
            ("code", "reading", "check", "healthy", "says", "standing"),
            (
                (m.code, m.label, m.check or "", _range(m.low, m.high, m.unit), m.says, m.standing)
                for m in c.limits.values()
            ),
        ),
        "parts": _table(
            ("code", "part", "answers", "on the van", "water side", "standing"),
            (
                (p.code, p.label, p.answers, p.van_stock, _yes(p.water_side), p.standing)
                for p in c.parts.values()
            ),
        ),
        "outcomes": _table(
            ("code", "outcome", "work done"),
            ((o.code, o.label, _yes(o.work_done)) for o in c.outcomes.values()),
        ),
        "job_kinds": _table(
            ("code", "job kind", "is a repair"),
            ((j.code, j.label, _yes(j.is_repair)) for j in c.job_kinds.values()),
        ),
        "visit_results": _table(
            ("code", "result", "work done", "let in", "waits for a part"),
            (
                (v.code, v.label, _yes(v.work_done), _yes(v.let_in), _yes(v.waits_for_part))
                for v in c.visit_results.values()
            ),
        ),
        "levels": _table(
            ("field", "meaning", "levels"),
            ((field, c.fields[field].label, list(levels)) for field, levels in c.levels.items()),
        ),
    }


def described(page: str, catalogue: Catalogue) -> str:
    """The page with every table between its comment lines made anew.

    Raises
    ------
    ValueError
        When the page lacks a table.
    """
    for name, table in tables(catalogue).items():
        start, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
        if start not in page or end not in page:
            raise ValueError(f"docs/catalogue.md has no place for the table {name}: add '{start}'.")
        before, rest = page.split(start, 1)
        page = f"{before}{start}\n{table}\n{end}" + rest.split(end, 1)[1]
    return page


def _table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    lines = [list(head), *([_cell(value) for value in row] for row in rows)]
    lines.insert(1, ["---"] * len(lines[0]))
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _cell(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _marks(cause: object) -> list[str]:
    said = {
        "flow_linked": "linked to flow",
        "consequence": "a consequence",
        "other_catalogue": "reason in another catalogue",
    }
    marks = [words for name, words in said.items() if getattr(cause, name)]
    return marks if getattr(cause, "can_be_final", True) else [*marks, "never final"]


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None:
        return f"up to {high:g} {unit}" if high is not None else ""
    return f"{low:g} to {high:g} {unit}" if high is not None else f"{low:g} {unit} and up"


def _yes(truth: bool) -> str:
    return "yes" if truth else "no"


if __name__ == "__main__":
    PAGE.write_text(described(PAGE.read_text(encoding="utf-8"), load_catalogue()), encoding="utf-8")
