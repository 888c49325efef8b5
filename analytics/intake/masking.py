"""Takes names, telephone numbers, addresses and e-mail out of what somebody wrote.

Patterns only: no list of names is kept. The same patterns run here, for single texts, and in DuckDB, for the
columns of a file on its way into the store; so they keep to what both know: no looking ahead or behind, and
letters beyond ASCII by name. What must stay is marked first, by a sign that no text has, and the signs are
taken out in the end. What is missed and what is taken too much is measured on invented notes, in
tests/analytics/intake/test_masking_measured.py; a name without a word that announces a person stays.
"""

import re
from functools import cache

import duckdb

from analytics import queries

NAME, NUMBER, ADDRESS, EMAIL = "[name]", "[number]", "[address]", "[e-mail]"

_STAYS = "\ue000"
_UPPER, _ANY = "A-ZÀ-ÖØ-Þ", "A-Za-zÀ-ÖØ-öø-ÿ"
_BEFORE = rf"(^|[^{_ANY}0-9_{_STAYS}'’-])"
"""What stands before a word; it is put back."""

_WORD = rf"[{_UPPER}][{_ANY}'’-]{{0,30}}[{_ANY}]"
"""Like every pattern here of bounded length, so that no text, however it is made, takes long."""

_NO_NAME = (
    r"The|This|That|There|It|Its|He|She|We|They|You|And|But|No|Not|Yes|Ok|OK|Please|Ice|Water|Filter|"
    r"Freezer|Fridge|Door|Valve|Unit|Tube|Maker|Customer|Cust|Caller|Client|Tenant|Landlord|Owner|"
    r"Neighbour|Neighbor|Manager|Kunde|Husband|Wife|Son|Daughter|Mother|Father|Tech|Technician|Office|"
    r"Dispatch|Nobody|Everybody|Who|What|When|Where|Why|How|If|In|On|At|To|For|From|With|After|Before|"
    r"Then|Now|Still|Same|New|Old|Line|Part|Parts|Leak|Leaks|Drip|Small|Replaced|Checked|Cleaned|Found|"
    r"Needs|Wants|Left|Right|Front|Back|Side|Kitchen|Garage|Cellar|Basement|Home|House|Monday|Tuesday|"
    r"Wednesday|Thursday|Friday|Saturday|Sunday|Mon|Tue|Wed|Thu|Fri|Sat|Sun|January|February|March|"
    r"April|May|June|July|August|September|October|November|December|Christmas|Easter|Thanksgiving|Er|"
    r"Sie|Es|Wir|Der|Die|Das|Kein|Keine|Wasser|Eis|Filterwechsel|Ventil|Gerät|Montag|Dienstag|Mittwoch|"
    r"Donnerstag|Freitag|Samstag"
)
_TITLES = (
    r"[Mm][Rr][Ss]?|[Mm]s|M[Ss]|[Mm]iss|[Dd]r|[Pp]rof|[Ss]ir|[Mm]adam|[Hh]errn?|[Ff]rau|[Mm]me|[Ss]eñora?"
)
_PLAIN_TITLES = r"mrs?|herrn?|frau|mme|(?:dr|ms)\."
"""Titles that announce a name even where it is written small; "they miss the ice" does not."""

_ANNOUNCED = (
    r"hi|hello|hey|dear|thanks|thank you|regards|cheers|sincerely|this is|my name is|name is|name|i am|"
    r"i'm|ask for|asked for|spoke with|spoke to|talked to|talked with|talk to|met with|met|contact|"
    r"attn\.?|c/o|tenant|landlord|owner|neighbou?r|husband|wife|son|daughter|mother|father|customer|"
    r"cust\.?|caller|client|kunde|kundin|call|ring|text|see|signed by|let in by|key with|key at|"
    r"keys with|manager|super|caretaker|hausmeister|mieter|mieterin|ansprechpartner|bei|per|for|with|w/|"
    r"told|from|named|dad|mom|mum|brother|sister|nephew|niece|grandson|granddaughter|sitter|nanny|boss|"
    r"lady|gentleman|mister"
)
_DOES = (
    r"says|said|called|rang|phoned|asks|asked|wants|wanted|insists|complains|complained|reports|"
    r"reported|paid|signed|is home|is not home|was home|was not home|will be home|not home|will call|"
    r"will ring|will let us in|let us in|let me in|opened|lives|cancelled|confirmed|declined|agreed|"
    r"showed|noticed|prefers|thinks|hat angerufen|sagt|ruft|meldet|möchte|ist zu Hause"
)
_CLEAR_STREETS = (
    r"street|road|avenue|ave|lane|boulevard|blvd|rd|crescent|terrace|highway|hwy|parkway|pkwy|trail|drive"
)
_OTHER_STREETS = r"St|Dr|Ct|Ln|Pl|Way|Place|Close|Row|Hill|Court|Square|Circle|Sq|Cir|Gardens|Grove|Mews|Loop"
_HOUSE = r"\d{1,5}[A-Za-z]?"
_FLAT = r"(?:,?\s*(?i:apt|apartment|flat|suite|ste|unit|#)\.?\s*[A-Za-z0-9]{1,5})?"
_TOWN = rf"(?:,\s*[{_UPPER}][{_ANY}'’-]+(?:,?\s+[A-Z]{{2}}(?:\s+\d{{5}})?)?)?"
_SOME = rf"[{_ANY}0-9.'’-]{{1,30}}"
_MEASURED = (
    r"ohms?|kohm|psi|kpa|bar|volts?|v|hz|amps?|ma|mv|mm|cm|m|ft|in|inch|ml|l|litres?|liters?|gal|gpm|oz|kg|lbs?|"
    r"rpm|min|mins|minutes|h|hrs?|hours|days?|weeks?|months?|cycles|cubes|f|c|deg|°f|°c|Ω|kΩ|usd|eur|€|\$"
)
_NUMBERED = (
    r"part|parts|model|mod|serial|ser|sn|s/n|p/n|pn|order|invoice|inv|po|ref|job|ticket|wo|batch|lot|version|item|"
    r"bestellung|teil|seriennummer|rechnung"
)
_RINGS = (
    r"tel|telephone|ph|phone|cell|mobile|mob|fax|handy|telefon|rufnummer|ring|call|text|whatsapp|sms|tlf|tél|at|on|or|"
    r"number|nr|office|home|work"
)

CONTACTS: tuple[tuple[str, str], ...] = (
    (_STAYS, ""),
    (r"[A-Za-z0-9_.+%-]{1,64}@[A-Za-z0-9-]{1,63}(?:\.[A-Za-z0-9-]{1,63}){1,5}", EMAIL),
    (
        r"[A-Za-z0-9_.+-]{1,64} ?(?:\(at\)|\[at\]) ?[A-Za-z0-9-]{1,63} ?(?:\.|\(dot\)|\[dot\]) ?[A-Za-z]{2,}",
        EMAIL,
    ),
    (rf"{_BEFORE}(\d{{4}}-\d\d-\d\d|\d{{1,2}}[./-]\d{{1,2}}[./-]\d{{2,4}})", rf"\1{_STAYS}\2"),
    (rf"(?i){_BEFORE}(\d[\d.,/ -]{{0,30}}\s?(?:{_MEASURED})(?:[^a-z0-9]|$))", rf"\1{_STAYS}\2"),
    (rf"(?i){_BEFORE}((?:{_NUMBERED})[\s.:#]*(?:no|nr|num|number)?[\s.:#]*)(\d)", rf"\1\2{_STAYS}\3"),
    (
        rf"{_BEFORE}{_HOUSE},?\s+(?:{_SOME}\s+){{1,3}}?(?i:{_CLEAR_STREETS})(?:\.|([^{_ANY}.])|$){_FLAT}{_TOWN}",
        rf"\1{ADDRESS}\2",
    ),
    (
        rf"{_BEFORE}{_HOUSE}\s+(?:[NSEW]\.?\s+)?(?:[{_UPPER}][{_ANY}'’-]*\s+){{1,3}}?(?:{_OTHER_STREETS})"
        rf"(?:\.|([^{_ANY}.])|$){_FLAT}{_TOWN}",
        rf"\1{ADDRESS}\2",
    ),
    (
        rf"{_BEFORE}(?:[{_UPPER}][{_ANY}-]+(?:str\.|straße|strasse|weg|platz|gasse|allee|ring|damm|ufer)|"
        rf"(?:Am|An der|Im|Zum|Zur)\s+[{_UPPER}][{_ANY}-]+)\s+\d{{1,4}}\s?[a-z]?(?:,?\s+\d{{5}}\s+{_WORD})?",
        rf"\1{ADDRESS}",
    ),
    (
        rf"(?i){_BEFORE}(?:{_HOUSE},?\s+)?(?:rue|chemin|impasse|via|calle|avenida|plaza)\s+"
        rf"(?:(?:de|des|du|la|le|della|del)\s+)*[{_ANY}'’-]+(?:,?\s+\d{{1,4}})?",
        rf"\1{ADDRESS}",
    ),
    (r"(?i)p\.?\s?o\.?\s+box\s+\d+", ADDRESS),
    (r"([^A-Za-z0-9]|^)(?:[A-Z]{1,2}\d[A-Z\d]?\s\d[A-Z]{2}|[A-Z]{2}\s\d{5}(?:-\d{4})?)", rf"\1{ADDRESS}"),
    (rf",\s\d{{5}}\s[{_UPPER}][{_ANY}]{{2,}}", f", {ADDRESS}"),
    (
        rf"{_BEFORE}(?:\+\d[\d\s()./-]{{6,17}}\d|\(\d{{2,5}}\)[\s/-]?\d{{2,4}}[\s.-]?\d{{2,5}}(?:[\s-]\d{{2,4}})?|"
        r"(?:1[\s.-])?\d{3}[\s./-]\d{3}[\s.-]\d{4}|\d{3}[\s.-]\d{4}|0\d{2,4}[\s/-]?\d{3,8}(?:[\s-]?\d{2,6}){0,3}|"
        r"\d{10,11})",
        rf"\1{NUMBER}",
    ),
    (
        rf"(?i){_BEFORE}((?:{_RINGS})[\s.:#]*(?:is|no|nr)?[\s.:#]+)\(?\d(?:[\s()./-]{{0,2}}\d){{5,14}}",
        rf"\1\2{NUMBER}",
    ),
    (
        r"(?i)((?:code|lockbox|alarm|account|pin|konto|kundennummer)(?: is|:| no| nr)?\.?\s)#?\d{3,}",
        rf"\1{NUMBER}",
    ),
)
"""Pattern and what to put, in order: numbers, addresses and e-mail."""

NAMES: tuple[tuple[str, str], ...] = (
    (rf"{_BEFORE}({_NO_NAME})([^{_ANY}'’-]|$)", rf"\1{_STAYS}\2\3"),
    (rf"{_BEFORE}({_NO_NAME})([^{_ANY}'’-]|$)", rf"\1{_STAYS}\2\3"),
    (rf"{_BEFORE}({_TITLES})(\.?\s+){_WORD}(?:\s+{_WORD})?", rf"\1\2\3{NAME}"),
    (rf"(?i){_BEFORE}({_PLAIN_TITLES})(\.?\s+)[{_ANY}][{_ANY}'’-]+", rf"\1\2\3{NAME}"),
    (rf"{_BEFORE}((?i:{_STAYS}?(?:{_ANNOUNCED}))[:,]?\s*\(?){_WORD}(?:\s+{_WORD})?", rf"\1\2{NAME}"),
    (rf"((?:^|[^{_STAYS}{_ANY}])){_WORD}(?:\s+{_WORD})?(\s+(?:{_DOES})(?:[^{_ANY}]|$))", rf"\1{NAME}\2"),
    (_STAYS, ""),
)
"""The same for names, after `CONTACTS`; words that are no names are marked twice, for neighbours."""

HINT = rf"[{_UPPER}@0-9]|(?:^|[^A-Za-z])(?:mrs?|herrn?|frau|mme|dr\.|ms\.)[^A-Za-z]"
"""A text without any of this holds nothing that the patterns find."""


@cache
def _compiled() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(pattern, re.ASCII), put) for pattern, put in (*CONTACTS, *NAMES))


def mask(text: str) -> str:
    """Return the text without names, numbers, addresses and e-mail, as far as patterns find them.

    Parameters
    ----------
    text : str
        As somebody wrote it.

    Examples
    --------
    >>> mask("Mrs Ogilvie, 12 Example Street: no ice, ring 555-0100")
    'Mrs [name], [address]: no ice, ring [number]'
    >>> mask("coil 260 ohm, changed on 2026-01-14")
    'coil 260 ohm, changed on 2026-01-14'
    """
    for pattern, put in _compiled():
        text = pattern.sub(put, text)
    return text


def prepare(connection: duckdb.DuckDBPyConnection) -> None:
    """Make the macros masked (a text) and masked_words (the words of a coded column) on a connection."""
    rules = [{"pattern": pattern, "put": put} for pattern, put in (*CONTACTS, *NAMES)]
    queries.run(connection, "staging/masking", {"rules": rules, "hint": HINT})
