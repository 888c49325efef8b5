"""What is known from outside of the files that two libraries test their own readers of CSV with.

csvtojson 1.1.12 (npm, MIT; test/data) and data.table 1.14.8 (Debian's r-cran-data.table, MPL-2.0; tests):
rows that are short, long or blank, quotes that are open or escaped otherwise, line ends of four kinds,
encodings, zero bytes. Values stand here as the tests of the libraries have them (csvtojson:
testCSVConverter.js, testCSVConverter2.js and errorHandle.js; data.table: tests.Rraw, by the number of its
test). Where a library takes no line for a header, the first line is one here, and the records are one
fewer.
"""

import bz2
import gzip
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

CI = Path(__file__).parents[2] / ".ci"
CSVTOJSON = CI / "node_modules" / "csvtojson"
DATATABLE = CI / "datatable/usr/lib/R/site-library/data.table/tests"
DIGEST = "6960a745a8225d225264c5ed8a61a73393f5169b1c77dc6ed572882a4588152d"
"""SHA-256 of the files of data.table below, unpacked, in their order; npm checks csvtojson by its own."""


class Facts(NamedTuple):
    """What is known of a file from outside.

    Parameters
    ----------
    records : int
    aside : mapping of str to int
        Records set aside by reason; of a file without quotes also found by counting separators.
    values : tuple of (int, int, str)
        Of a record (from 0; -1 is the last), a field (from 0): what it holds.
    separator : str or None
        Where it can not be told.
    encoding : str
    """

    records: int
    aside: Mapping[str, int] = MappingProxyType({})
    values: tuple[tuple[int, int, str], ...] = ()
    separator: str | None = None
    encoding: str = "utf-8-sig"


FEW, MANY, OPEN, BEHIND = "too_few_fields", "too_many_fields", "unclosed_quote", "text_after_quote"

OF_CSVTOJSON = {
    "columnArray": Facts(5),
    "complexJSONCSV": Facts(2, values=((0, 0, "Food Factory"), (0, 1, "Oscar"))),
    "data#139": Facts(3, {FEW: 3}),
    "dataDiffDelimiter": Facts(2, values=((0, 0, "2015029"), (1, 0, "2015028"))),
    "dataIgnoreEmpty": Facts(4, {FEW: 1}, ((1, 0, "d2"), (-1, 0, "d4"))),  # the library passes over ",,,,"
    "dataNoTrimBOM": Facts(2, values=((0, 0, "joe"), (0, 1, "20"))),
    "dataNoTrimCRLF": Facts(2, values=((0, 0, "joe"), (0, 1, "20"))),
    "dataTsv": Facts(200),
    "dataWithAutoDelimiter": Facts(
        4, {MANY: 3}, ((0, 0, "Mini. Sectt:hisar S.O"), (1, 0, "#Mini. Sectt")), separator=":"
    ),
    "dataWithComma": Facts(4, {MANY: 3}, ((0, 0, "Mini. Sectt,hisar S.O"),)),
    "dataWithEmptyString": Facts(0),
    "dataWithLongRow": Facts(1, {"field_too_long": 1}),
    "dataWithMismatchedColumn": Facts(4, {FEW: 1}),
    "dataWithMultipleLineRow": Facts(1),
    "dataWithPipeAsDelimiter": Facts(2),
    "dataWithQoutes": Facts(6, {BEHIND: 1}, ((1, 0, "abc, def, ccc"),)),
    "dataWithSlashEscape": Facts(1, {BEHIND: 1}),
    "dataWithTabAsDelimiter": Facts(2),
    "dataWithTripleQoutes": Facts(
        4, values=((0, 3, "ac, abs, moon"), (1, 2, 'Venture "Extended Edition"')),
    ),
    "dataWithType": Facts(1, values=((0, 3, "2012-01-01"), (0, 5, '{"hello":"world"}'))),
    "dataWithUnclosedQuotes": Facts(6, {OPEN: 2}),
    "dataWithWhiteSpace": Facts(1, values=((0, 0, "Column1Row1"), (0, 1, "Column2Row1"))),
    "invalidHeader": Facts(5),
    "large-csv-sample.csv": Facts(5290),
    "large-utf8.csv": Facts(5290),
    "lineBreak": Facts(1, values=((0, 13, "Unknown"),)),
    "longHeader": Facts(1),
    "noheaderWithVaryColumnNum": Facts(1, {MANY: 1}, ((0, 3, "7"),)),
    "noheadercsv": Facts(4),
    "pipeAsQuote": Facts(1, {MANY: 1}),
    "quoteTolerant": Facts(1, {BEHIND: 1}),
    "tabsv": Facts(4),
    "testData": Facts(2),
    "testEol": Facts(1),
    "trailingComma": Facts(2),
    "twodoublequotes": Facts(
        1, values=((0, 0, '"'), (0, 3, 'fejal"eifa'), (0, 4, 'bnej""falkfe'), (0, 5, '"eisjfes"')),
    ),
}  # fmt: skip

OF_DATATABLE = {
    "1206FUT.txt.bz2": Facts(308),
    "1680-fread-header-encoding.csv": Facts(4, encoding="latin-1"),
    "2008head.csv.bz2": Facts(499),
    "530_fread.txt": Facts(49, {FEW: 49}),
    "536_fread_fill_1.txt": Facts(22, {FEW: 5}),
    "536_fread_fill_2.txt": Facts(22, {FEW: 5}),
    "536_fread_fill_3_extreme.txt": Facts(3, {FEW: 2}),
    "536_fread_fill_4.txt": Facts(22, {FEW: 5}),
    # 1754
    "allchar.csv.gz": Facts(17576, values=((0, 1, "AAN"), (1, 1, "BAN"), (17574, 1, "YZZ"), (-1, 1, "ZZZ"))),
    # 1759
    "alluniquechar.csv.gz": Facts(500, values=((0, 3, "pt"), (1, 3, "ch"), (498, 3, "vl"), (-1, 3, "km"))),
    "bad.txt.bz2": Facts(408, values=((0, 0, "#############"), (-1, 0, "#########"))),  # 1817
    "doublequote_newline.csv": Facts(
        36, values=((7, 1, 'embedded "field"\nwith some embedded new\nlines as well'), (8, 0, "2")),
    ),  # 1445, but for the doubled quotes, which the library leaves as they are
    "fillheader.csv.bz2": Facts(9, values=((0, 28, "5154177"), (-1, 28, "5144032"), (0, 29, ""))),  # 1867.03
    "fread_blank.txt": Facts(8),
    "fread_blank2.txt": Facts(5),
    "fread_blank3.txt": Facts(5),
    "fread_line_error.csv.bz2": Facts(68, {OPEN: 5, MANY: 5}),  # 1453: line 12 has 47 fields instead of 24
    "grr.csv.gz": Facts(2838),  # 1834.1: 2839 rows of 12
    "isoweek_test.csv.bz2": Facts(1461),
    "issue_1087_utf8_bom.csv": Facts(1),
    "issue_1095_fread.txt.bz2": Facts(99, {BEHIND: 1}),
    "issue_1116_fread_few_lines.txt.gz": Facts(44),
    "issue_1116_fread_few_lines_2.txt.gz": Facts(44),
    "issue_1164_json.txt": Facts(1, values=((0, 1, "string field"),)),  # 1609
    "issue_1330_fread.txt": Facts(5),
    "issue_1462_fread_quotes.txt.gz": Facts(3, {BEHIND: 1}),  # 1608: 4 rows of 224
    "issue_2051.csv.gz": Facts(2),
    # 1768, 1769
    "issue_2157_sampling_overlap.txt.gz": Facts(1314, values=((0, 0, "ABCD021917"), (-1, 0, "ABCD032617"))),
    "issue_2157_sampling_reached_eof_early.txt.bz2": Facts(
        1228, values=((1, 0, "2005-08-15"), (-1, 0, "2017-05-10")),
    ),
    "issue_3400_fread.txt": Facts(4, {"nul_bytes": 1}),
    "issue_563_fread.txt": Facts(4),
    "issue_773_fread.txt": Facts(27, {FEW: 6}),
    "issue_785_fread.txt.gz": Facts(4),
    "iterations.txt.bz2": Facts(100, {MANY: 99}),
    "melt-warning-1752.tsv.gz": Facts(1, encoding="latin-1"),
    "melt_1754_synth.csv.bz2": Facts(39),
    "noquote.csv.gz": Facts(2094, {MANY: 2093}),
    "onecol4096.csv.bz2": Facts(256),
    "quoted_multiline.csv.bz2": Facts(
        44, values=((0, 0, "3308386085360"), (42, 0, "3440245203140"), (-1, 0, "1305220146734")),
    ),  # 1449
    "quoted_no_header.csv": Facts(5, values=((-1, 0, 'Joan "the bone", Anne'), (-1, 5, "00123"))),  # 1886
    "russellCRCRLF.csv": Facts(19, values=((18, 3, "357.97"),), encoding="latin-1"),  # 1378.3
    "russellCRLF.csv": Facts(19, values=((18, 3, "357.97"),), encoding="latin-1"),  # 1378.1
    "session_aborted_fatal_error.txt.bz2": Facts(15, values=((-1, 0, "ACSSF"), (-1, 250, "-1"))),  # 1818
    "unescaped.csv": Facts(2, {BEHIND: 2}),  # 1755: quotes inside quotes that are not doubled
    # 1627.4: the library refuses both
    "utf16be.txt": Facts(1, values=((0, 0, "c"), (0, 1, "d")), encoding="utf-16"),
    "utf16le.txt": Facts(1, values=((0, 0, "c"), (0, 1, "d")), encoding="utf-16"),
    "winallquoted.csv.bz2": Facts(
        4999, values=((0, 3, "2013/08/29 12:06:01"), (4997, 1, "11"), (-1, 3, "2013/09/02 08:50:01")),
    ),  # 1757
}  # fmt: skip
"""Left out: code (.R, .Rraw, .Rdata), spaces for separators or text above the table (ch11b.dat, issue_1113,
issue_1573_fill, genotypes_genome, SA2-by-DJZ), one column (test0), no rows (colnames4096), and GB 18030,
which is none of the encodings that are told."""

FACTS = OF_CSVTOJSON | OF_DATATABLE
ONE_COLUMN = {"dataWithAutoDelimiter", "issue_3400_fread.txt", "onecol4096.csv.bz2"}
LOADED = {name for name, facts in OF_CSVTOJSON.items() if facts.aside} | {
    "dataNoTrimBOM", "dataNoTrimCRLF", "dataWithEmptyString", "dataWithMultipleLineRow", "dataWithWhiteSpace",
    "lineBreak", "tabsv", "testEol", "trailingComma", "twodoublequotes", "1680-fread-header-encoding.csv",
    "2008head.csv.bz2", "536_fread_fill_3_extreme.txt", "doublequote_newline.csv", "fillheader.csv.bz2",
    "issue_1462_fread_quotes.txt.gz", "issue_3400_fread.txt", "iterations.txt.bz2",
    "quoted_multiline.csv.bz2", "russellCRCRLF.csv", "unescaped.csv", "utf16be.txt", "winallquoted.csv.bz2",
}  # fmt: skip
"""What is loaded as a whole: a file for each trait. The rest is read and looked at, which takes less time."""


def content(name: str) -> bytes:
    """Return the bytes of a file, unpacked."""
    if name in OF_CSVTOJSON:
        return (CSVTOJSON / "test" / "data" / name).read_bytes()
    raw = (DATATABLE / name).read_bytes()
    unpack = {"bz2": bz2.decompress, "gz": gzip.decompress}.get(name.rpartition(".")[2], bytes)
    return unpack(raw)
