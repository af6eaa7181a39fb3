"""What happened on the board: how long each price stood, and the last change while it can go back.

Nothing is taken off the board's history: a change goes back by putting the former prices up again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collop.measures import UnitPrice
    from collop.shop import BoardChange

__all__ = ["TAKEN_BACK", "UNDO_FOR", "LastChange", "OneBack", "Stood", "last_change", "stood"]

UNDO_FOR = timedelta(hours=1)
#: How the reason of an entry begins that puts former prices back.
TAKEN_BACK = "taken back"


@dataclass(frozen=True, slots=True)
class Stood:
    """One price of a line and how long it stands.

    Parameters
    ----------
    change : BoardChange
        What was entered.
    until : datetime or None
        When another price takes its place; None while nothing follows.
    is_planned : bool
        Whether its time is still ahead.
    is_void : bool
        Whether another entry from the same moment took its place before it ever stood.
    before : UnitPrice or None
        The price in force just before its time; None for the first of a line.
    """

    change: BoardChange
    until: datetime | None
    is_planned: bool
    is_void: bool
    before: UnitPrice | None = None

    @property
    def can_withdraw(self) -> bool:
        """Tell whether it is still ahead, would change the board, and has a price to leave it at.

        What puts the price before it up again is itself the way back, and changes nothing.
        """
        has_other = self.before is not None and self.before != self.change.price
        return self.is_planned and not self.is_void and has_other

    @property
    def mark(self) -> str:
        """Return what tells this entry from every other of its line."""
        return f"{self.change.from_at.isoformat()} {self.change.entered_at.isoformat()}"


def _ordered(changes: Sequence[BoardChange]) -> list[BoardChange]:
    """Return entries in the order they stand: by their time, the later entry after the earlier."""
    return [
        change for _, change in sorted(enumerate(changes), key=lambda at: (at[1].from_at, at[0]))
    ]


def stood(changes: Sequence[BoardChange], now: datetime) -> list[Stood]:
    """Return every price of a line with its time, the newest first."""
    ordered = _ordered(changes)
    ends = [change.from_at for change in ordered[1:]]
    return [
        Stood(
            change,
            until=until,
            is_planned=change.from_at > now and change.from_at > change.entered_at,
            is_void=until == change.from_at,
            before=_just_before(ordered, change.from_at),
        )
        for change, until in zip_longest(ordered, ends)
    ][::-1]


def _just_before(ordered: Sequence[BoardChange], moment: datetime) -> UnitPrice | None:
    """Return the price in force up to `moment`; what another entry replaced never stood."""
    return next((one.price for one in reversed(ordered) if one.from_at < moment), None)


@dataclass(frozen=True, slots=True)
class OneBack:
    """One line of the last change: what it was before, and what it became; `was` may be None."""

    case_id: str
    name: str
    was: UnitPrice | None
    became: UnitPrice


@dataclass(frozen=True, slots=True)
class LastChange:
    """The lines that changed together last, by whom, when, why and from when.

    `can_undo` tells whether the former prices can be put up again.
    """

    lines: tuple[OneBack, ...]
    by: str | None
    why: str
    entered_at: datetime
    from_at: datetime

    @property
    def is_taken_back(self) -> bool:
        """Tell whether this change was itself the way back."""
        return self.why.startswith(TAKEN_BACK)

    @property
    def is_planned(self) -> bool:
        """Tell whether it was entered ahead of its time."""
        return self.from_at > self.entered_at

    @property
    def can_undo(self) -> bool:
        """Tell whether every line had a price before, and this is not the way back itself."""
        return not self.is_taken_back and all(line.was is not None for line in self.lines)


def last_change(
    histories: Mapping[str, tuple[str, Sequence[BoardChange]]], now: datetime
) -> LastChange | None:
    """Return what was entered last within the hour; None if nothing was.

    Parameters
    ----------
    histories : mapping
        By case line: its name, and its entries in the order they were entered.
    now : datetime
        The shop's clock.
    """
    newest = {case_id: changes[-1] for case_id, (_, changes) in histories.items() if changes}
    if not newest:
        return None
    last = max(newest.values(), key=lambda change: change.entered_at)
    if not timedelta(0) <= now - last.entered_at <= UNDO_FOR:
        return None
    lines = tuple(
        OneBack(case_id, histories[case_id][0], _before(histories[case_id][1]), change.price)
        for case_id, change in newest.items()
        if _act(change) == _act(last)
    )
    return LastChange(lines, last.by, last.why, last.entered_at, last.from_at)


def _act(change: BoardChange) -> tuple[datetime, datetime, str | None, str]:
    """Return what entries of one act have in common."""
    return (change.entered_at, change.from_at, change.by, change.why)


def _before(changes: Sequence[BoardChange]) -> UnitPrice | None:
    """Return the price that would stand at the time of the last entry without it."""
    last = changes[-1]
    earlier: Iterable[BoardChange] = _ordered(changes[:-1])
    found = [change.price for change in earlier if change.from_at <= last.from_at]
    return found[-1] if found else None
