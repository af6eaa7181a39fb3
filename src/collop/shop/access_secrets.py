"""Passwords, PINs and tokens: what is taken, and the little of it that is kept.

Passwords and PINs are kept as argon2id strings that carry their parameters; of a token only its
SHA-256 is kept, for it is random and long.

References
----------
.. [1] OWASP Password Storage Cheat Sheet (source id OWASPPW): argon2id with 19456 KiB, two passes
   and one lane, one of five lines of equal strength.
.. [2] OWASP ASVS 5.0 (source id ASVS5): 6.2.1, 6.2.4, 6.2.5, 6.2.8, 6.2.9 (passwords), 6.5.4
   (short codes of 20 bits), 7.2.3 (tokens of 128 bits), 11.4.2 (slow hash).
.. [3] NIST SP 800-63B says that a password is normalised before it is hashed, and that names of
   the place are refused (from memory, not checked).
"""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from functools import cache
from itertools import pairwise
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from collop.errors import BadValue

if TYPE_CHECKING:
    from collections.abc import Iterable

    from argon2 import PasswordHasher

__all__ = [
    "LONGEST_PASSWORD", "MEMORY_KIB", "PASSES", "SHORTEST_PASSWORD", "check_password", "check_pin",
    "fits", "hash_secret", "is_old_hash", "new_token", "token_hash",
]  # fmt: skip

#: One of the published lines of argon2id: memory in KiB, passes, lanes.
MEMORY_KIB, PASSES, LANES = 19456, 2, 1
#: Fewest and most characters of a password; 15 or more are advised.
SHORTEST_PASSWORD, LONGEST_PASSWORD = 8, 256
#: Fewest and most digits of a PIN: six digits are 20 bits.
SHORTEST_PIN, LONGEST_PIN = 6, 12
_TOKEN_BYTES = 32
_MOST_RAW = 4 * LONGEST_PASSWORD
_LONGEST_PATTERN = 3
#: Each hash needs `MEMORY_KIB`: a crowd at the door must not take the memory of the machine.
_AT_ONCE = BoundedSemaphore(2)


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher  # noqa: PLC0415 -- most commands never hash

    return PasswordHasher(time_cost=PASSES, memory_cost=MEMORY_KIB, parallelism=LANES)


@cache
def _commonest() -> frozenset[str]:
    """Return 30,000 passwords that are tried first, in lower case."""
    from zxcvbn import frequency_lists  # type: ignore[import-untyped]  # noqa: PLC0415 -- long

    return frozenset(frequency_lists.FREQUENCY_LISTS["passwords"])


def _plain(text: str) -> str:
    return "".join(one for one in text.casefold() if one.isalnum())


def _normal(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def check_password(password: object, names: Iterable[str]) -> str:
    """Return a new password as it is hashed: in composed form, otherwise as it was typed.

    Any character counts, spaces too; nothing is cut off.

    Parameters
    ----------
    password : object
        What was typed.
    names : iterable of str
        Words it may not be, with digits around them or not: the person's and the shop's name.

    Raises
    ------
    BadValue
        If it is too short or long, among the commonest, or one of the names. It is not repeated.
    """
    if not isinstance(password, str):
        raise _refused("is to be text")
    kept = _normal(password[:_MOST_RAW])
    if len(kept) < SHORTEST_PASSWORD:
        raise _refused(f"has fewer than {SHORTEST_PASSWORD} characters; 15 or more are better")
    if len(kept) > LONGEST_PASSWORD or len(password) > _MOST_RAW:
        raise _refused(f"has more than {LONGEST_PASSWORD} characters")
    try:
        kept.encode()
    except UnicodeEncodeError:
        raise _refused("holds half a character") from None
    if kept.casefold() in _commonest():
        raise _refused("is one of those that are tried first everywhere")
    bare = _plain(kept)
    if {bare, bare.strip("0123456789")} & {_plain(name) for name in names if _plain(name)}:
        raise _refused("is the name of the person or the shop")
    return kept


def _refused(what: str) -> BadValue:
    return BadValue(f"The password {what}; choose another, such as four words that do not belong"
                    " together.", where="password")  # fmt: skip


def check_pin(pin: object) -> str:
    """Return a new PIN.

    Raises
    ------
    BadValue
        If it has not 6 to 12 digits, counts up or down, or repeats up to three digits.
    """
    if not isinstance(pin, str) or not (pin.isascii() and pin.isdigit()):
        raise BadValue("A PIN is made of digits only.", where="pin")
    if not SHORTEST_PIN <= len(pin) <= LONGEST_PIN:
        raise BadValue(f"A PIN has {SHORTEST_PIN} to {LONGEST_PIN} digits.", where="pin")
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    if len(steps) == 1 or any(_repeats(pin, size) for size in range(1, _LONGEST_PATTERN + 1)):
        raise BadValue("That PIN is a run or a pattern and quickly guessed; choose another.",
                       where="pin")  # fmt: skip
    return pin


def _repeats(pin: str, size: int) -> bool:
    return len(pin) % size == 0 and pin == pin[:size] * (len(pin) // size)


def hash_secret(secret: str) -> str:
    """Return the argon2id string of a password or PIN: algorithm, parameters, salt and hash."""
    with _AT_ONCE:
        return _hasher().hash(_normal(secret))


@cache
def _nobodys() -> str:
    return hash_secret(secrets.token_urlsafe(_TOKEN_BYTES))


def fits(offered: object, kept: str | None) -> bool:
    """Tell whether what was offered is the secret that is kept.

    Parameters
    ----------
    offered : object
        What was typed.
    kept : str or None
        The argon2id string; None for a person who is not there or has none. One hash is worked out
        all the same, so that the answer takes as long.
    """
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415 -- late

    text = offered if isinstance(offered, str) and len(offered) <= _MOST_RAW else ""
    raw = _normal(text).encode(errors="surrogatepass")
    against = kept or _nobodys()
    with _AT_ONCE:
        try:
            _hasher().verify(against, raw)
        except (VerificationError, InvalidHashError):
            return False
    return kept is not None


def is_old_hash(kept: str) -> bool:
    """Tell whether a string was made with other parameters than today's."""
    return _hasher().check_needs_rehash(kept)


def new_token() -> str:
    """Return a fresh secret of 256 random bits, for a cookie."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def token_hash(token: object) -> str:
    """Return what is kept of a token: its SHA-256, 64 hexadecimal digits."""
    text = token if isinstance(token, str) else ""
    return hashlib.sha256(text[:_MOST_RAW].encode(errors="surrogatepass")).hexdigest()
