"""How many ways there are to choose among: a problem that nobody could solve is refused at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from collop.bench.problem import Kind, Lock, Piece, Style
from collop.errors import Contradiction

__all__ = ["MOST_WAYS", "count_ways", "not_too_many_ways"]

#: Most ways of all pieces together: each style on each day, and so for each large cut off it.
MOST_WAYS = 60_000


class _Counting:
    """Ways of one kind from a day on; each kind and day is counted once."""

    def __init__(self, kinds: Mapping[str, Kind], days: int) -> None:
        self.kinds = kinds
        self.days = days
        self.known: dict[tuple[str, int], int] = {}

    def of_style(self, style: Style, day: int) -> int:
        """Return 1 for the style on that day, and the ways of the large cuts that come off."""
        count = 1
        for output in style.outputs:
            if output.to == "kind":
                last = min(day + self.kinds[output.id].holds_days, self.days - 1)
                count += sum(self.of_kind(output.id, later) for later in range(day, last + 1))
        return count

    def of_kind(self, kind: str, day: int) -> int:
        """Return the ways of all its styles on that day."""
        if (kind, day) not in self.known:
            styles = self.kinds[kind].styles
            self.known[kind, day] = sum(self.of_style(style, day) for style in styles)
        return self.known[kind, day]


def count_ways(
    rail: Sequence[Piece], kinds: Mapping[str, Kind], locks: Sequence[Lock], days: int
) -> int:
    """Return how many ways there are to break what hangs; a lock leaves those that agree with it.

    A large cut has its ways once for each way of what it comes off.
    """
    counting = _Counting(kinds, days)
    by_tag = {lock.tag: lock for lock in locks}
    total = 0
    for piece in rail:
        lock = by_tag.get(piece.tag)
        first, last = piece.from_day, piece.until_day
        if lock is None:
            total += sum(counting.of_kind(piece.kind, day) for day in range(first, last + 1))
            continue
        if lock.day is not None:
            first = last = lock.day
        for style in kinds[piece.kind].styles:
            if style.id == lock.style:
                total += sum(counting.of_style(style, day) for day in range(first, last + 1))
    return total


def not_too_many_ways(
    rail: Sequence[Piece], kinds: Mapping[str, Kind], locks: Sequence[Lock], days: int
) -> None:
    """Refuse a problem with more than `MOST_WAYS` ways.

    Raises
    ------
    Contradiction
        At ``$.rail``.
    """
    count = count_ways(rail, kinds, locks, days)
    if count > MOST_WAYS:
        shown = f"{count:,}" if count < 10**12 else "more than a million million"
        raise Contradiction(
            f"$.rail can be broken in {shown} ways; {MOST_WAYS:,} is the most: plan fewer days or "
            "pieces at once, or lock what is decided.",
            where="$.rail",
        )
