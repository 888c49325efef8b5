"""A stand-in for the part of the facade that takes files in: nothing was brought."""

from analytics.intake.uploads import Brought


class NothingBrought:
    """Where files are brought to, before anybody has."""

    def tidy(self) -> None:
        """There is nothing to tidy."""

    def waiting(self) -> list[Brought]:
        return []


class FakeBringing:
    """The methods of `Fleet` that give what takes files in, and keep what codes are read from: nothing."""

    def keep_coded(self) -> bool:
        return False

    def bringing(self) -> NothingBrought:
        return NothingBrought()
