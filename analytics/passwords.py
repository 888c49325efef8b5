"""Passwords: how long they must be, and how they are kept and compared."""

import threading
import unicodedata
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from analytics.errors import BadQuestion

SHORTEST, LONGEST = 12, 128
HASHER = PasswordHasher()
"""Argon2id with the defaults of argon2-cffi: the second recommended set of RFC 9106, section 4."""

_AT_ONCE = threading.BoundedSemaphore(2)
"""Each comparison takes 64 MB of memory; more at once would let a stranger take all of it."""


def hashed(password: str, name: str = "") -> str:
    """Return what is kept of a password.

    Parameters
    ----------
    password : str
        12 to 128 characters, any; nothing is cut off.
    name : str
        Of the account, which is no password for it.

    Raises
    ------
    BadQuestion
        When it is too short or too long, or takes no guessing at all.
    """
    told = _normal(password)
    if len(told) < SHORTEST:
        raise BadQuestion(
            f"The password has {len(told)} characters; it needs at least {SHORTEST}. A few words in a row "
            "that only you would put together are easy to keep in mind."
        )
    if len(told) > LONGEST:
        raise BadQuestion(f"The password has {len(told)} characters; at most {LONGEST} are allowed.")
    if len(set(told.casefold())) < 4 or (name and told.casefold().strip() == _normal(name).casefold()):
        raise BadQuestion(
            "The password is the name of the account, or repeats one to three characters; choose another."
        )
    with _AT_ONCE:
        return HASHER.hash(told)


def matches(kept: str | None, password: str) -> bool:
    """Say whether a password is the one that was kept; without one, take as long and say no.

    Parameters
    ----------
    kept : str or None
        As `hashed` returned it; None for an account that does not exist.
    password : str
        As typed.
    """
    nobody = _nobody()
    told = _normal(password)[: LONGEST + 1]  # one that is too long fits none
    with _AT_ONCE:
        try:
            HASHER.verify(kept or nobody, told)
        except (VerificationError, InvalidHashError):
            return False
    return kept is not None


def is_outdated(kept: str) -> bool:
    """Say whether it was kept with other parameters than those of today."""
    return HASHER.check_needs_rehash(kept)


@cache
def _nobody() -> str:
    """What is compared with where there is no such account."""
    return HASHER.hash("nobody's password, which fits no account")


def _normal(text: str) -> str:
    """Give the same letters the same code, however the keyboard composed them (NIST SP 800-63B, 5.1.1.2)."""
    return unicodedata.normalize("NFKC", text)
