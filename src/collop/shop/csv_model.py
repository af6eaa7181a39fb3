"""What a list brings: changes told before they are made, in frozen records."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.engine import Connection

from collop.shop.acts import Act
from collop.shop.csv_reading import ListRow
from collop.shop.model import Settings

__all__ = ["Change", "ListChanges", "ListKind"]


@dataclass(frozen=True, slots=True)
class Change:
    """One change: in which row, of what kind (``new line``), of what, and in words."""

    row: int
    kind: str
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class ListChanges:
    """What a list changes, or would change.

    Parameters
    ----------
    name : str
        Which list.
    rows : int
        Rows that were read.
    changes : tuple of Change
        What differs from the shop; empty if nothing does.
    is_written : bool
        Whether it was done, or only tried.
    was_written_before : bool
        Whether the same list came with the same key before; it is not read in twice.
    """

    name: str
    rows: int
    changes: tuple[Change, ...]
    is_written: bool = False
    was_written_before: bool = False

    @property
    def say(self) -> str:
        """Return it in one sentence, e.g. ``2 new lines, 3 price changes, nothing else.``."""
        if self.was_written_before:
            return "This list was read in before; nothing changes now."
        if not self.changes:
            return f"Nothing changes; {self.rows} {'row' if self.rows == 1 else 'rows'} read."
        counts = Counter(change.kind for change in self.changes)
        parts = [f"{count} {_MANY.get(kind, kind) if count > 1 else _ONE.get(kind, kind)}"
                 for kind, count in counts.items()]  # fmt: skip
        return f"{', '.join(parts)}, nothing else."

    @property
    def digest(self) -> str:
        """Return what tells these changes from others, to be sent back when they are made."""
        told = repr([(one.row, one.kind, one.words) for one in self.changes])
        return hashlib.sha256(told.encode()).hexdigest()[:32]


_ONE = {"price": "price change", "role": "role change"}
_MANY = {"new line": "new lines", "price": "price changes", "new booking": "new bookings",
         "new person": "new people", "role": "role changes",
         "new standing order": "new standing orders"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ListKind:
    """A list people keep: its columns, how it is written and, if it is, how it is read in.

    Parameters
    ----------
    name, title : str
        How it is called in an address, and in words.
    columns : tuple of str
        All of them, in order.
    told_only : frozenset of str
        Those that are written and, on the way in, not looked at.
    out : callable
        Returns the rows of the shop, at a moment, as mappings by column.
    into : callable or None
        Makes the changes within an act and tells them; None for a list that is only written.
    is_once : bool
        Whether the same list is read in once whatever its key: its rows have no id yet, so a
        second time they would all be new again.
    """

    name: str
    title: str
    columns: tuple[str, ...]
    told_only: frozenset[str]
    out: Callable[[Connection, Settings, datetime], Sequence[Mapping[str, object]]]
    into: Callable[[Act, Sequence[ListRow], str], Sequence[Change]] | None
    is_once: bool = False
