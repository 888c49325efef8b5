"""The small language in which rules are written, turned into regular expressions over folded words.

A pattern is words parted by spaces, to be found in this order within one clause:
`word`; `word*` any ending; `<class>` a class of words of the catalogue; `one|other|<class>`;
`word?` may be absent; `..` up to three words between; `^` start and `$` end of the text.
"""

import re
from collections.abc import Iterable, Mapping

_GAP = "(?:[a-z0-9]+ ){0,3}"
_CHOICE = re.compile(r"^(?:<[a-z_]+>|[a-z0-9]+\*?)$")


def members(token: str, classes: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Words or runs of words that a token stands for."""
    choices = token.removesuffix("?").split("|")
    return tuple(m for c in choices for m in (classes[c[1:-1]] if c.startswith("<") else (c,)))


def problem(pattern: str, classes: Mapping[str, tuple[str, ...]]) -> str | None:
    """Say what is wrong with a pattern, or None."""
    for token in pattern.split():
        if token in ("..", "^", "$"):
            continue
        for choice in token.removesuffix("?").split("|"):
            if not _CHOICE.match(choice):
                return f"'{choice}' is no word, class or gap."
            if choice.startswith("<") and choice[1:-1] not in classes:
                return f"the class {choice} is not among the words."
    return None


def regex(pattern: str, classes: Mapping[str, tuple[str, ...]]) -> str:
    """Regular expression of one pattern, over clauses padded by spaces."""
    parts = [" "]
    for token in pattern.split():
        if token == "..":
            parts.append(_GAP)
        elif token == "^":
            parts[0] = "^ "
        elif token == "$":
            parts.append("$")
        else:
            choices = "|".join(m.replace("*", "[a-z0-9]*") for m in members(token, classes))
            parts.append(f"(?:(?:{choices}) ){'?' if token.endswith('?') else ''}")
    return "".join(parts)


def union(patterns: Iterable[str], classes: Mapping[str, tuple[str, ...]]) -> str:
    """Regular expression that finds any of the patterns."""
    return "|".join(f"(?:{regex(p, classes)})" for p in patterns)


def vocabulary(patterns: Iterable[str], classes: Mapping[str, tuple[str, ...]]) -> set[str]:
    """Whole words that the patterns hold; a word with any ending counts without the ending."""
    tokens = (t for p in patterns for t in p.split() if t not in ("..", "^", "$"))
    return {word.rstrip("*") for t in tokens for run in members(t, classes) for word in run.split()}
