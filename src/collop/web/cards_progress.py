"""What one device has learned of the case, kept in its own cookie and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

__all__ = ["Progress", "is_mark", "mark_of"]

#: So many marks fit a cookie, which may have 4096 bytes (RFC 6265, 6.1, the least a browser keeps).
_MOST_KNOWN, _MOST_LATER = 420, 60
#: What was told wrong is asked once more after so many others: a figure of ours.
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
    """What was told right on a device, and what is asked once more.

    Parameters
    ----------
    asked : int
        How many answers were given.
    known : tuple of str
        Marks of what was told right, the oldest first.
    later : tuple of (mark, int)
        What was told wrong, with the count of answers after which it is asked once more.
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

    def right(self, mark: str) -> Progress:
        """Return the progress after a question was told right."""
        known = (*(one for one in self.known if one != mark), mark)[-_MOST_KNOWN:]
        return replace(self, asked=self.asked + 1, known=known, later=self._without(mark))

    def wrong(self, mark: str) -> Progress:
        """Return the progress after a question was told wrong: it is asked once more."""
        later = (*self._without(mark), (mark, self.asked + 1 + _AGAIN_AFTER))[-_MOST_LATER:]
        known = tuple(one for one in self.known if one != mark)
        return replace(self, asked=self.asked + 1, known=known, later=later)

    def following(self, marks: Sequence[str]) -> str:
        """Return which of the questions is asked now; empty if all were told right.

        One told wrong goes before those never asked, and before its time only when none is left.
        """
        waiting = [(mark, due) for mark, due in self.later if mark in marks]
        due_now = next((mark for mark, due in waiting if due <= self.asked), "")
        if due_now:
            return due_now
        seen = {*self.known, *(mark for mark, _ in waiting)}
        fresh = next((mark for mark in marks if mark not in seen), "")
        return fresh or (waiting[0][0] if waiting else "")

    def told_right(self, marks: Sequence[str]) -> int:
        """Return how many of the questions were told right."""
        return len(set(self.known) & set(marks))

    def _without(self, mark: str) -> tuple[tuple[str, int], ...]:
        return tuple(one for one in self.later if one[0] != mark)
