"""Invented notes with what is personal in them known, to measure masking by; nobody in them exists.

How people write is an assumption of our own, no source: the shares of the ways in invented_notes.toml, a bare
name without any word that announces it among them.
"""

import random
import tomllib
from dataclasses import dataclass
from pathlib import Path

PARTS = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
KINDS = tuple(PARTS["ways"])


@dataclass(frozen=True)
class Note:
    """A note, and what must not be left of it.

    Parameters
    ----------
    text : str
    kind : str
        name, phone, email, address; "" for a note with nothing personal.
    hidden : tuple of str
    """

    text: str
    kind: str
    hidden: tuple[str, ...]


def invented(number: int, seed: int, held_out: bool) -> list[Note]:
    """Return so many notes of each kind, and as many with nothing personal."""
    chance = random.Random(seed)
    notes = []
    half = "held_out" if held_out else "beside"
    for kind, ways in PARTS["ways"].items():
        notes += [_personal(chance, kind, chance.choice(ways[half])) for _ in range(number)]
    plain = PARTS["plain"][half]
    for _ in range(number):
        two = chance.sample(plain, 2)
        notes.append(Note(chance.choice((two[0], "; ".join(two), ". ".join(two))), "", ()))
    return notes


def _personal(chance: random.Random, kind: str, way: str) -> Note:
    parts = _parts(chance)
    used = {name: value for name, value in parts.items() if "{" + name + "}" in way}
    rest = chance.choice(PARTS["plain"]["beside"])
    text = way.format(**parts)
    text = chance.choice((text, f"{text}; {rest}", f"{rest}. {text}"))
    return Note(text, kind, tuple(value for name, value in used.items() if name not in ("n3", "c")))


def _parts(chance: random.Random) -> dict[str, str]:
    def digits(n: int) -> str:
        return "".join(chance.choice("123456789") for _ in range(n))

    given, family = chance.choice(PARTS["given"]), chance.choice(PARTS["family"])
    domain = chance.choice(PARTS["domains"])
    street = chance.choice(PARTS["streets"])
    return {
        "g": given,
        "f": family,
        "fl": family.lower(),
        "us": f"{digits(3)}-{digits(3)}-{digits(4)}",
        "par": f"({digits(3)}) {digits(3)}-{digits(4)}",
        "dots": ".".join((digits(3), digits(3), digits(4))),
        "eu": f"0{digits(3)} {digits(7)}",
        "eu2": f"0{digits(3)}/{digits(3)} {digits(4)}",
        "intl": f"+{digits(2)} {digits(2)} {digits(4)} {digits(4)}",
        "short": f"{digits(3)}-{digits(4)}",
        "run": digits(10),
        "mail": _plain_letters(f"{given}{chance.choice('._-')}{family}{digits(2)}@{domain}"),
        "n": str(chance.randint(2, 9899)),
        "n3": digits(3),
        "s": street,
        "sl": street.lower(),
        "c": chance.choice("NSEW"),
        "ds": chance.choice(("Linden", "Bahnhof", "Schul", "Garten", "Kirch")),
    }


def _plain_letters(text: str) -> str:
    return text.lower().encode("ascii", "ignore").decode()
