"""What one device has learned of the cards, kept in its own cookie and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

__all__ = ["Progress", "is_mark", "mark_of"]

#: So many marks fit a cookie, which may have 4096 bytes (RFC 6265, 6.1, the least a browser keeps).
_MOST_KNOWN, _MOST_LATER = 420, 60
#: A card that was not known comes again after so many others: a figure of ours.
_AGAIN_AFTER = 4
_MARK = re.compile(r"[0-9a-f]{6}")
_LONGEST = 4000


def mark_of(*parts: str) -> str:
    """Return the mark of a question: six digits that change when its answer changes."""
    return sha256("\n".join(parts).encode()).hexdigest()[:6]


def is_mark(text: str) -> bool:
    """Tell whether a text is a mark."""
    return bool(_MARK.fullmatch(text))


@dataclass(frozen=True, slots=True)
class Progress:
    """What is known on a device, and what comes again.

    Parameters
    ----------
    asked : int
        How many answers were given.
    known : tuple of str
        Marks of what was known, the oldest first.
    later : tuple of (mark, int)
        What was not known, with the count of answers after which it comes again.
    """

    asked: int = 0
    known: tuple[str, ...] = ()
    later: tuple[tuple[str, int], ...] = ()

    @classmethod
    def read(cls, text: str) -> Progress:
        """Return what a cookie says; what cannot be read counts as nothing learned."""
        parts = text[:_LONGEST].split("|")
        if len(parts) != 3 or not re.fullmatch(r"[0-9]{1,6}", parts[0]):
            return cls()
        later = (one.partition("-") for one in parts[2].split("."))
        return cls(
            int(parts[0]),
            tuple(_MARK.findall(parts[1]))[-_MOST_KNOWN:],
            tuple(
                (mark, int(due))
                for mark, _, due in later
                if is_mark(mark) and re.fullmatch(r"[0-9]{1,7}", due)
            )[-_MOST_LATER:],
        )

    def write(self) -> str:
        """Return the text of the cookie: letters and marks that need no quoting."""
        later = ".".join(f"{mark}-{due}" for mark, due in self.later)
        return f"{self.asked}|{''.join(self.known)}|{later}"

    def knew(self, mark: str) -> Progress:
        """Return the progress after a card was known."""
        known = (*(one for one in self.known if one != mark), mark)[-_MOST_KNOWN:]
        return replace(self, asked=self.asked + 1, known=known, later=self._without(mark))

    def not_yet(self, mark: str) -> Progress:
        """Return the progress after a card was not known: it comes again."""
        later = (*self._without(mark), (mark, self.asked + 1 + _AGAIN_AFTER))[-_MOST_LATER:]
        known = tuple(one for one in self.known if one != mark)
        return replace(self, asked=self.asked + 1, known=known, later=later)

    def following(self, marks: Sequence[str]) -> str:
        """Return which of the questions is asked now; empty if all are known.

        One that comes again goes before new ones, and before its time only when no new one is left.
        """
        waiting = [(mark, due) for mark, due in self.later if mark in marks]
        due_now = next((mark for mark, due in waiting if due <= self.asked), "")
        if due_now:
            return due_now
        seen = {*self.known, *(mark for mark, _ in waiting)}
        fresh = next((mark for mark in marks if mark not in seen), "")
        return fresh or (waiting[0][0] if waiting else "")

    def counts(self, marks: Sequence[str]) -> tuple[int, int, int]:
        """Return how many of the questions are known, come again, and are still new."""
        later = {mark for mark, _ in self.later}
        known, again = set(self.known) & set(marks), later & set(marks)
        return len(known), len(again), len(marks) - len(known | again)

    def _without(self, mark: str) -> tuple[tuple[str, int], ...]:
        return tuple(one for one in self.later if one[0] != mark)
