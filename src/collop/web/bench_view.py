"""What the bench page and its paper draw: groups of lines, and how hours and weights are said."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from collop.measures import Weight, WeightUnit

if TYPE_CHECKING:
    from collop.shop.bench_list_model import BenchBreak, BenchLine, BenchList, CleanDue
    from collop.web.rendering import Shown

__all__ = ["Group", "clean_words", "covers_words", "due_words", "groups_of", "how_words",
           "last_done", "noted_lines", "pieces_words", "was_words", "when_words"]  # fmt: skip

_WAS = {"what": "cut", "who": "for", "how": "how", "casing": "casing", "contains": "holds",
        "cares": "care"}  # fmt: skip


# weights in the words of a make or a grind, as the plan's unit wrote them
_WEIGHED = re.compile(r"\b(\d+\.\d{2}) (lb|kg)\b")


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of work that stand under one heading."""

    title: str
    lines: tuple[BenchLine, ...]


def when_words(at: datetime, today: date) -> str:
    """Return an hour of today as such, of another day with its name.

    Examples
    --------
    >>> when_words(datetime(2026, 6, 9, 11), date(2026, 6, 9))
    '11:00 today'
    >>> when_words(datetime(2026, 6, 11, 17, 30), date(2026, 6, 9))
    'Thu 17:30'
    >>> when_words(datetime(2026, 6, 1, 17, 30), date(2026, 6, 9))
    'Mon 1 Jun 17:30'
    """
    if at.date() == today:
        return f"{at:%H:%M} today"
    is_near = 0 < (at.date() - today).days < 7
    return f"{at:%a %H:%M}" if is_near else f"{at:%a} {at.day} {at:%b %H:%M}"


def due_words(line: BenchLine, today: date) -> str:
    """Return when a line is due; a make or a grind is due on a day, not at an hour."""
    if not line.kind.is_planned:
        return when_words(line.due, today)
    return "today" if line.due.date() == today else f"{line.due:%a}"


def _in_unit(text: str, shown: Shown) -> str:
    return _WEIGHED.sub(lambda one: shown.weight(Weight.of(one[1], WeightUnit(one[2]))), text)


def how_words(line: BenchLine, shown: Shown) -> str:
    """Return how a line is done; what a plan's recipe takes is in the device's unit.

    Words that a person wrote stay as they are.
    """
    text = "; ".join(line.how)
    return _in_unit(text, shown) if line.kind.is_planned else text


def pieces_words(count: int | None) -> str:
    """Return a number of pieces, empty for goods sold by weight."""
    return "" if count is None else f"{count} {'piece' if count == 1 else 'pieces'}"


def was_words(line: BenchLine, shown: Shown, today: date) -> tuple[str, ...]:
    """Return what a line said before it changed, one fact each."""
    found = []
    for name, value in (line.was or {}).items():
        if name == "weight":
            found.append(shown.weight(value))
        elif name == "due":
            found.append(when_words(value, today))
        elif name == "pieces":
            found.append(pieces_words(value) or "by weight")
        else:
            text = f"{_WAS[name]}: {value}"
            found.append(_in_unit(text, shown) if line.kind.is_planned else text)
    return tuple(found)


def _title(line: BenchLine, on: BenchList) -> str:
    due, today = on.clean.due, on.day
    if due is not None and not on.clean.is_late and line.due <= due:
        return f"Before the clean-down, {when_words(due, today)}"
    if line.due.date() <= today:
        return "Today"
    return f"{line.due:%A} {line.due.day} {line.due:%B}"


def groups_of(on: BenchList) -> tuple[Group, ...]:
    """Return the lines under their headings, in the order of work."""
    found: list[tuple[str, list[BenchLine]]] = []
    for line in on.lines:
        title = _title(line, on)
        if not found or found[-1][0] != title:
            found.append((title, []))
        found[-1][1].append(line)
    return tuple(Group(title, tuple(lines)) for title, lines in found)


def noted_lines(on: BenchList) -> frozenset[str]:
    """Return the ids of the lines that carry their booking's note: its first on the list."""
    first: dict[str, str] = {}
    for line in on.lines:
        if line.note and line.booking_id and not line.is_off:
            first.setdefault(line.booking_id, line.id)
    return frozenset(first.values())


def clean_words(clean: CleanDue, now: datetime) -> str:
    """Return when the clean-down is due, in a few words."""
    if clean.due is None:
        return "no clean-down on record"
    if clean.due.date() == now.date():
        return f"clean-down due {clean.due:%H:%M}"
    return f"clean-down due {clean.due:%a %H:%M}"


def covers_words(one: BenchBreak) -> str:
    """Return what a break covers, empty if nothing is known of it."""
    return ", ".join(one.covers)


def last_done(lines: Iterable[BenchLine]) -> BenchLine | None:
    """Return the line that was finished last, if that may still be undone."""
    found = next(iter(lines), None)
    return found if found is not None and found.done is not None and found.done.lasts else None
