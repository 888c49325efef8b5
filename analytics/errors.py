"""Every error that reaches a user, named for the fact; each says what was found and what to do next."""


class ServiceCallError(Exception):
    """A problem the user can mend; the command line prints it as one paragraph, without a traceback."""

    exit_code = 1


class BadFile(ServiceCallError):
    """A file that can not be read as a table of records at all."""

    exit_code = 3


class NeedsAnswer(ServiceCallError):
    """Something only a person can settle, such as the order of day and month.

    Parameters
    ----------
    message : str
    columns : tuple of str
        Our columns that the question is about, where it is about the order of dates or a decimal sign.
    """

    exit_code = 4

    def __init__(self, message: str, columns: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.columns = columns


class BadMapping(ServiceCallError):
    """A mapping file that does not hold together."""

    exit_code = 5


class BadCatalogue(ServiceCallError):
    """A catalogue that does not hold together."""

    exit_code = 5


class StoreProblem(ServiceCallError):
    """The store is missing, busy, damaged, of another version, or out of space."""

    exit_code = 6


class NotReady(StoreProblem):
    """What is asked from is still being made, or could not be."""


class BadModel(ServiceCallError):
    """A stored model that is damaged, or does not fit this program or the catalogue."""

    exit_code = 5


class BadQuestion(ServiceCallError):
    """A figure asked for with a value that does not exist."""

    exit_code = 2


class UnknownRecord(BadQuestion):
    """A call or unit asked for by an id that nothing loaded has."""
