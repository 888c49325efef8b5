"""What a file looks like: how it is written, its first rows, which table it seems to be, and its columns."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadFile
from analytics.intake import sheets
from analytics.intake.asking import ask, records_of, shortened
from analytics.intake.contract import Table, tables
from analytics.intake.dialect import SEPARATOR_NAMES
from analytics.intake.mapping import Mapping
from analytics.intake.propose import Proposal, propose
from analytics.intake.sampling import write_sample

FIRST_ROWS = 6
EXAMPLES = 3
SURE, LIKELY, PERHAPS = "sure", "likely", "perhaps"


def look(path: Path, called: str, sample: Path) -> dict[str, Any]:
    """Say what a file looks like, as plain values that can be noted as JSON.

    Parameters
    ----------
    path : Path
        A CSV file.
    called : str
        Its name for people.
    sample : Path
        Where a part of it, or the whole of a small one, is written as UTF-8 for the questions that follow.

    Returns
    -------
    dict
        encoding, separator (in words), rows (lines below the header), passed_over (lines above it), header,
        first_rows, examples (by place), messages, sampled (rows looked at; None where it was every row).

    Raises
    ------
    BadFile
        When it is no table at all.
    """
    sheet = sheets.look_at(path, Mapping(), called=called)
    header, separator = sheet.dialect.header, sheet.dialect.separator
    if len(header) < 2:
        raise BadFile(
            f"{called} has one column, '{shortened(header[0])}', so that nothing could be told apart in it. "
            "Export a table with one column each for the call, the unit, the date and the complaint, as CSV "
            "or XLSX."
        )
    whole = write_sample(sheet, sample)
    rows = records_of(sheets.look_at(sample, Mapping(separator=separator), called=called))
    return {
        "encoding": sheet.encoding.name,
        "separator": SEPARATOR_NAMES.get(separator, separator),
        "sign": separator,
        "rows": max(sheet.scan.lines - sheet.dialect.skipped_lines, 0),
        "passed_over": sheet.dialect.header_line - 1,
        "header": list(header),
        "first_rows": [[shortened(each) for each in row] for row in rows[:FIRST_ROWS]],
        "examples": [_examples([row[place] for row in rows]) for place in range(len(header))],
        "messages": list(sheet.messages),
        "sampled": None if whole else len(rows),
    }


def suggest(
    sample: Path, separator: str, table: str | None = None, catalogue: Catalogue | None = None
) -> dict[str, Any]:
    """Say which table a file seems to be, and which of its columns are ours.

    Parameters
    ----------
    sample : Path
        As `look` wrote it.
    separator : str
    table : str, optional
        The table that a person says it is.
    catalogue : Catalogue, optional

    Returns
    -------
    dict
        table, reason; columns (our column -> place), because (why) and surety (`SURE`, `LIKELY` or `PERHAPS`)
        by our column; and what `ask` asks about them.
    """
    catalogue = catalogue or load_catalogue()
    proposal = propose(sample, table=table, catalogue=catalogue)
    chosen = tables()[proposal.table]
    places = {each.column: place for place, each in enumerate(proposal.columns) if each.column}
    found = {each.column: each for each in proposal.columns if each.column}
    ordered = [column for column in chosen.columns if column in places]
    return {
        "table": proposal.table,
        "reason": _reason(proposal, chosen),
        "columns": {column: places[column] for column in ordered},
        "because": {column: found[column].because for column in ordered},
        "surety": {column: _surety(found[column].certain, found[column].because) for column in ordered},
    } | questions(sample, separator, chosen, places, catalogue)


def questions(
    sample: Path,
    separator: str,
    table: Table,
    places: dict[str, int],
    catalogue: Catalogue | None = None,
    forced: tuple[str, ...] = (),
) -> dict[str, Any]:
    """Return what `ask` asks about these columns, as plain values, and under `asked_about` the columns."""
    sheet = sheets.look_at(sample, Mapping(separator=separator))
    asked = ask(catalogue or load_catalogue(), sheet, table, places, forced)
    return asdict(asked) | {"asked_about": dict(places)}


def _reason(proposal: Proposal, table: Table) -> str:
    sure = [each for each in proposal.columns if each.column and each.certain]
    likely = [each for each in proposal.columns if each.column and not each.certain]
    lacking = table.missing({each.column for each in proposal.columns if each.column})
    said = [f"{len(sure)} of its {len(proposal.columns)} columns are named like ours for it"]
    said += [f"{len(likely)} more look like it by their values or names"] if likely else []
    said += ["all that is needed is there"] if not lacking else [f"still open: {', '.join(lacking)}"]
    return "; ".join(said)


def _surety(certain: bool, because: str) -> str:
    return SURE if certain else LIKELY if ", and " in because else PERHAPS


def _examples(values: list[str]) -> list[str]:
    distinct = dict.fromkeys(value for each in values if (value := each.strip()))
    return [shortened(each) for each in list(distinct)[:EXAMPLES]]
