"""Every exception collop raises on purpose.

::

    CollopError                 root; never raised directly
    +-- ProblemError            the input cannot be read (also a ValueError)
    |   +-- UnknownKey          a key nobody knows
    |   +-- BadValue            a value of the wrong kind, or out of range
    |   +-- Contradiction       two wishes that cannot both hold
    +-- ReferenceTableError     a published table in the package is malformed
    +-- PlanRejected            the independent checker found a broken rule
    +-- ShopError               the shop cannot do what was asked
        +-- NotEnoughFree       more asked than is free in the case
        +-- NotFound            no such line, booking or quote
        +-- QuoteLapsed         the quote's holding time is over
        +-- WrongState          the booking is not in a state that allows this
        +-- TooSoon             a further try at the door before its delay is over
        +-- StorageTrouble      the database cannot be read or written

Each message is one sentence: what is wrong, where, what to do.
"""

from __future__ import annotations

#: What a sentence may be long; one that quotes what was sent may come out longer.
_MOST_LETTERS, _FIRST_LETTERS = 400, 280


def _one_line(message: str) -> str:
    """Return a message as one line of bounded length, whatever text of a problem it quotes."""
    if not message.isprintable():
        message = "".join(
            letter if letter.isprintable() else repr(letter)[1:-1] for letter in message
        )
    if len(message) > _MOST_LETTERS:
        rest = _MOST_LETTERS - _FIRST_LETTERS - 5
        message = f"{message[:_FIRST_LETTERS]} ... {message[-rest:]}"
    return message


class CollopError(Exception):
    """Root of the tree.

    Parameters
    ----------
    message : str
        One sentence for the person at the counter.  What cannot be printed is escaped, and the
        middle of more than 400 letters is left out.
    where : str
        Path of the offending value, e.g. ``$.groups[0].count``; empty if none.
    """

    kind = "error"

    def __init__(self, message: str, *, where: str = "") -> None:
        message = _one_line(message)
        super().__init__(message)
        self.message = message
        self.where = _one_line(where)

    def as_json(self) -> dict[str, dict[str, str]]:
        """Return the error object of the JSON contract."""
        return {"error": {"kind": self.kind, "message": self.message, "where": self.where}}


class ProblemError(CollopError, ValueError):
    """The input cannot be understood."""

    kind = "problem"


class UnknownKey(ProblemError):
    """A key nobody knows."""

    kind = "unknown-key"


class BadValue(ProblemError):
    """A value of the wrong kind, or out of its range."""

    kind = "bad-value"


class Contradiction(ProblemError):
    """Two wishes that cannot both hold."""

    kind = "contradiction"


class ReferenceTableError(CollopError):
    """A published table in the package is malformed."""

    kind = "reference-table"


class PlanRejected(CollopError):
    """The independent checker found a broken rule; the plan is never shown."""

    kind = "plan-rejected"


class ShopError(CollopError):
    """The shop cannot do what was asked."""

    kind = "shop"


class NotEnoughFree(ShopError):
    """More was asked than is free in the case."""

    kind = "not-enough-free"


class NotFound(ShopError):
    """No such case line, booking or quote."""

    kind = "not-found"


class QuoteLapsed(ShopError):
    """The quote's holding time is over."""

    kind = "quote-lapsed"


class WrongState(ShopError):
    """The booking is not in a state that allows this."""

    kind = "wrong-state"


class TooSoon(ShopError):
    """A further try to sign in came before the delay was over; it was not looked at.

    Parameters
    ----------
    message : str
        One sentence.
    wait_s : int
        Whole seconds until the next try is looked at, at least 1.
    """

    kind = "too-soon"

    def __init__(self, message: str, *, wait_s: int) -> None:
        super().__init__(message)
        self.wait_s = wait_s


class StorageTrouble(ShopError):
    """The database cannot be read or written."""

    kind = "storage"
