"""Which table a file holds, and which of its columns are ours beyond doubt."""

from collections import Counter
from collections.abc import Mapping as AnyMapping
from collections.abc import Sequence
from dataclasses import dataclass, field

from analytics.catalogues.units_of_measure import read_units, unit_of
from analytics.errors import BadFile, BadQuestion, NeedsAnswer
from analytics.intake.contract import IGNORED_HEADERS, Column, Table, table_named, tables
from analytics.intake.evidence import contradiction
from analytics.intake.headers import plain, without_unit
from analytics.intake.mapping import Mapping, TableMapping


@dataclass(frozen=True)
class Recognised:
    """The columns of a file that are ours beyond doubt.

    Parameters
    ----------
    table : Table
    columns : mapping of str to int
        Our column -> place of the file's column, from 0.
    because : mapping of str to str
        Our column -> why it is certain.
    units : mapping of str to str
        Our column -> unit of measure named in brackets behind the header.
    doubtful : mapping of str to tuple of str
        Our column -> headers of the file that could all be it.
    unused : tuple of str
        Headers that are not used.
    doubts : mapping of str to str
        Our column -> why the header that says so is not believed.
    """

    table: Table
    columns: AnyMapping[str, int]
    because: AnyMapping[str, str]
    units: AnyMapping[str, str] = field(default_factory=dict)
    doubtful: AnyMapping[str, tuple[str, ...]] = field(default_factory=dict)
    unused: tuple[str, ...] = ()
    doubts: AnyMapping[str, str] = field(default_factory=dict)

    @property
    def lacking(self) -> list[str]:
        """Columns without which the table can not be loaded."""
        return self.table.missing(set(self.columns))


def recognise(
    name: str,
    header: tuple[str, ...],
    mapping: Mapping,
    wanted: str | None = None,
    sample: Sequence[Sequence[str]] = (),
) -> Recognised:
    """Tell the table of a file and its certain columns from its header and its first rows.

    Parameters
    ----------
    name : str
        Name of the file, for messages, and to choose between tables that fit equally well.
    header : tuple of str
    mapping : Mapping
    wanted : str, optional
        The table that the user names.
    sample : sequence of rows
        A header other than our own name is believed only where these do not speak against it.

    Raises
    ------
    BadFile
        When the header has nothing to do with any table, or names a used column twice.
    NeedsAnswer
        When a required column, or which table it is, can not be told for certain.
    """
    chosen = (table_named(wanted).name,) if wanted else _tables_of_mapping(header, mapping) or tuple(tables())
    fits = [
        columns_of(header, tables()[each], mapping.tables.get(each, TableMapping()), sample)
        for each in chosen
    ]
    best = [each for each in _best(fits, name) if not each.lacking and (wanted or is_certain(each, header))]
    if not best:
        raise _nothing_fits(name, header, fits)
    if len(best) > 1:
        raise NeedsAnswer(
            f"{name} can be read as {' or as '.join(each.table.name for each in best)}. "
            f"Say which with --table, or name its columns in a mapping."
        )
    _refuse_duplicates(name, header, best[0])
    return best[0]


def columns_of(
    header: tuple[str, ...], table: Table, mapping: TableMapping, sample: Sequence[Sequence[str]] = ()
) -> Recognised:
    """Find the columns of one table in a header: by the mapping, by our names, and by unambiguous words.

    Raises
    ------
    NeedsAnswer
        When the mapping names a header that the file does not have.
    """
    columns, because = _mapped(header, table, mapping)
    ignored = {plain(each) for each in (*mapping.ignored, *IGNORED_HEADERS)}
    free = {
        place: header[place]
        for place in range(len(header))
        if place not in columns.values() and plain(header[place]) and plain(header[place]) not in ignored
    }
    doubtful: dict[str, tuple[str, ...]] = {}
    doubts: dict[str, str] = {}
    for why, matches in (("its header is our name for it", _by_name), ("its header says so", _by_word)):
        for column in (each for each in table.columns if each not in columns):
            found = [place for place, written in free.items() if matches(table, column, written)]
            if len({plain(header[place]) for place in found}) > 1:
                doubtful[column] = tuple(header[place] for place in found)
            elif found and matches is _by_word and (doubt := _doubt(table.columns[column], found[0], sample)):
                doubtful[column], doubts[column] = (header[found[0]],), doubt
            elif found:
                columns[column], because[column] = found[0], why
                for place in found:
                    del free[place]
    units = {
        column: unit
        for column, place in columns.items()
        if (unit := _unit(header[place], table.columns[column]))
    }
    units |= mapping.units
    unused = tuple(
        written
        for place, written in enumerate(header)
        if place not in columns.values() and plain(written) not in map(plain, IGNORED_HEADERS)
    )
    return Recognised(table, columns, because, units, doubtful, unused, doubts)


def is_certain(found: Recognised, header: Sequence[str]) -> bool:
    """Say whether the recognised columns show beyond doubt what table it is.

    All required columns must be there. Where that is a single one, an id that other tables have as well, half
    of the columns of the file must be known.
    """
    named = sum(bool(each) for each in header)
    few_required = len(found.table.required()) + bool(found.table.either) < 2
    return not found.lacking and not (few_required and 2 * len(found.columns) < named)


def _mapped(
    header: tuple[str, ...], table: Table, mapping: TableMapping
) -> tuple[dict[str, int], dict[str, str]]:
    columns = {}
    for column, written in mapping.columns.items():
        exact = [place for place, each in enumerate(header) if each == written.strip()]
        alike = exact or [place for place, each in enumerate(header) if plain(each) == plain(written)]
        if not alike:
            raise NeedsAnswer(
                f"The mapping takes {table.name}.{column} from a column '{written}', which the file lacks. "
                f"Its columns are: {', '.join(header)}. Correct the mapping."
            )
        columns[column] = alike[0]
    return columns, dict.fromkeys(columns, "the mapping says so")


def _doubt(column: Column, place: int, sample: Sequence[Sequence[str]]) -> str | None:
    return contradiction(
        column, [value for row in sample if place < len(row) and (value := row[place].strip())]
    )


def _by_name(table: Table, column: str, written: str) -> bool:
    return plain(column) in (plain(written), plain(without_unit(written)[0]))


def _by_word(table: Table, column: str, written: str) -> bool:
    words = table.columns[column].headers
    return plain(written) in words or plain(without_unit(written)[0]) in words


def _unit(written: str, column: Column) -> str | None:
    """Code of the unit of measure behind a header, where the column can have one."""
    unit = without_unit(written)[1]
    if unit is None or not (column.quantity or column.name == "reading"):
        return None
    try:
        known = unit_of(read_units(), unit)
    except BadQuestion:
        return None
    return known.code if column.quantity in (None, known.quantity) else None


def _tables_of_mapping(header: tuple[str, ...], mapping: Mapping) -> tuple[str, ...]:
    """Tables whose headers, as the mapping names them, are all in the file."""
    present = {plain(each) for each in header}
    named = {table: entry for table, entry in mapping.tables.items() if entry.columns}
    return tuple(
        table
        for table, entry in named.items()
        if all(plain(written) in present for written in entry.columns.values())
        and not columns_of(header, tables()[table], entry).lacking
    )


def _best(fits: list[Recognised], name: str) -> list[Recognised]:
    """Those with most recognised columns; of these, the one that the file is named after."""
    most = max((len(each.columns) for each in fits), default=0)
    best = [each for each in fits if len(each.columns) == most]
    named = [each for each in best if plain(each.table.name) in plain(name)]
    return named if len(named) == 1 else best


def _refuse_duplicates(name: str, header: tuple[str, ...], found: Recognised) -> None:
    times = Counter(plain(each) for each in header)
    for column, place in found.columns.items():
        if times[plain(header[place])] > 1:
            raise BadFile(
                f"{name} has {times[plain(header[place])]} columns named '{header[place]}', and one of them "
                f"would be {column}. Rename the others, or leave them out, and load the file again."
            )


def _nothing_fits(name: str, header: tuple[str, ...], fits: list[Recognised]) -> Exception:
    nearest = max(fits, key=lambda each: (len(each.columns), -len(each.lacking)))
    written = ", ".join(each or "(no name)" for each in header[:40]) or "none"
    if len(nearest.columns) < 2 and len(fits) > 1:
        return BadFile(
            f"{name} does not look like records of service calls: none of the tables "
            f"({', '.join(tables())}) has its columns. They are: {written[:1000]}. If it is the right file, "
            f"`service-calls propose {name}` writes a mapping to complete, and `load --mapping` uses it."
        )
    doubts = "".join(
        f" {column} could be {' or '.join(headers)}{_because(nearest.doubts.get(column))}."
        for column, headers in nearest.doubtful.items()
        if column in nearest.lacking
    )
    return NeedsAnswer(
        f"{name} looks like {nearest.table.name}, but which column is {', '.join(nearest.lacking)} can not "
        f"be told for certain.{doubts} Its columns are: {written[:1000]}. `service-calls propose {name}` "
        f"writes a mapping to check; load the file with --mapping."
    )


def _because(doubt: str | None) -> str:
    return f", but {doubt}" if doubt else ""
