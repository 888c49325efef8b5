"""What the New call page says beside the figures, as data: telephone questions, what to do before leaving."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from analytics.catalogues.reading import Place, read_toml

FILE = Path(__file__).with_name("new_call.toml")
_KEYS = ("telephone", "in_range", "leave")


@dataclass(frozen=True)
class Sayings:
    """Common practice of the trade, no source.

    Parameters
    ----------
    telephone : mapping of str to str
        What to ask by telephone, by cause that the owner may put right, in the order of asking.
    in_range : mapping of str to str
        What a reading inside its limits does not prove, by limit.
    leave : tuple of str
        What to do before leaving.
    """

    telephone: Mapping[str, str]
    in_range: Mapping[str, str]
    leave: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "telephone": dict(self.telephone),
            "in_range": dict(self.in_range),
            "leave": list(self.leave),
        }


@cache
def sayings(path: Path = FILE) -> Sayings:
    """Read the file.

    Raises
    ------
    BadCatalogue
        When it has an unknown key, or a value that is no text; the message names file and key.
    """
    raw, place = read_toml(path), Place(path.name)
    if unknown := sorted(set(raw) - set(_KEYS)):
        raise place.wrong(f"unknown key '{unknown[0]}'.", f"Known: {', '.join(_KEYS)}.")
    texts = {
        **{f"telephone.{key}": value for key, value in raw.get("telephone", {}).items()},
        **{f"in_range.{key}": value for key, value in raw.get("in_range", {}).items()},
        **{f"leave.{at}": each.get("do") for at, each in enumerate(raw.get("leave", []), 1)},
    }
    for key, value in texts.items():
        if not isinstance(value, str) or not value.strip():
            raise place.below(*key.split(".")).wrong(f"found {value!r}.", "A text is wanted here.")
    return Sayings(
        raw.get("telephone", {}), raw.get("in_range", {}), tuple(each["do"] for each in raw.get("leave", []))
    )
