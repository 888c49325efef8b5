"""The small language in which rules are written, turned into regular expressions over folded words.

A pattern is words parted by spaces, to be found in this order:
`word`; `word*` any ending; `two_words` a run of words; `<class>` a class of words of the catalogue;
`one|other|<class>`; any of these with `?` may be absent; `..` up to three words between, within one clause;
`...` up to five words or clause marks between; `^` start and `$` end of the text.
"""

import re
from collections.abc import Iterable, Mapping

_GAPS = {"..": "(?:[a-z0-9]+ ){0,3}", "...": "(?:[a-z0-9;]+ ){0,5}"}
_MARKS = {*_GAPS, "^", "$"}
_CHOICE = re.compile(r"^(?:<[a-z_]+>|[a-z0-9]+(?:_[a-z0-9]+)*\*?)$")


def members(token: str, classes: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Words or runs of words that a token stands for."""
    choices = token.removesuffix("?").split("|")
    return tuple(
        m for c in choices for m in (classes[c[1:-1]] if c.startswith("<") else (c.replace("_", " "),))
    )


def problem(pattern: str, classes: Mapping[str, tuple[str, ...]]) -> str | None:
    """Say what is wrong with a pattern, or None."""
    for token in pattern.split():
        if token in _MARKS:
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
        if token in _GAPS:
            parts.append(_GAPS[token])
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
    tokens = (t for p in patterns for t in p.split() if t not in _MARKS)
    return {word.rstrip("*") for t in tokens for run in members(t, classes) for word in run.split()}
