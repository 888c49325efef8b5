"""Physical lines for a reader of records, which can be given back when a record turns out to be malformed."""

from collections.abc import Iterable

LONGEST_RECORD = 16_000_000
"""Characters that a record may have; the reader is told that the file ends there."""


class Lines:
    """Physical lines, from the first of a file.

    Attributes
    ----------
    line : int
        Physical line of the first line taken since `begin`.
    taken : list of str
        Lines taken since then.
    exhausted : bool
        The reader asked for more than there is, or than a record may have.
    """

    def __init__(self, source: Iterable[str]) -> None:
        self._source = iter(source)
        self._given_back: list[str] = []
        self._characters = 0
        self.line = 1
        self.taken: list[str] = []
        self.exhausted = False

    def __iter__(self) -> "Lines":
        return self

    def __next__(self) -> str:
        if self._characters > LONGEST_RECORD:
            self.exhausted = True
            raise StopIteration
        if self._given_back:
            line = self._given_back.pop()
        else:
            line = next(self._source, "")
            if not line:
                self.exhausted = True
                raise StopIteration
        self.taken.append(line)
        self._characters += len(line)
        return line

    def begin(self) -> None:
        """Start a new record behind the lines taken so far."""
        self.line += len(self.taken)
        self.taken = []
        self._characters = 0
        self.exhausted = False

    def give_back(self, kept: int) -> None:
        """Give back the lines taken since `begin`, but for the first `kept`."""
        self._given_back.extend(reversed(self.taken[kept:]))
        del self.taken[kept:]
