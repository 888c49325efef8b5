"""Which generation is asked: a stand-in with one, and perhaps a newer one that is being made ready."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, Self


class FakeShown:
    """The methods of `Fleet` about the generation that is asked."""

    newer: datetime | None = None

    def for_one_page(self) -> Self:
        return self

    def holding(self) -> Self:
        return self

    def newest(self) -> Self:
        return self

    def loaded_meanwhile(self) -> datetime | None:
        return self.newer

    def meanwhile(self, ask: Callable[[Self], Any]) -> Callable[[], Any]:
        answer = ask(self)
        return lambda: answer
