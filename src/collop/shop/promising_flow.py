"""How much more may be promised for a day, so that every promise before and after it holds.

Weight that comes in can be handed over from its first day to its last; a promise has one day. What
the promises take together at the most is found by going through the days in order and giving each
what has the nearest last day: no other way serves more where each supply is good for days in a row
(Glover's rule for convex bipartite matching, from memory; proven here against every way of small
cases). What may be promised beyond is what that sum grows by if a day asks for everything.

Nothing here reads a clock or a database.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from datetime import date

from collop.shop.promising_model import Coming

__all__ = ["most_for", "serve", "served"]

#: Of two supplies with the same last day, what lies in the case goes first.
_RANK = {"case": 0, "thaw": 1, "plan": 2, "rail": 3}


def serve(
    supplies: Sequence[Coming], demands: Sequence[tuple[date, int]]
) -> list[list[tuple[Coming, int]]]:
    """Return what serves each demand, so that together they get as much as can be.

    Parameters
    ----------
    supplies : sequence of Coming
        Of one line.
    demands : sequence of (date, int)
        Day and whole counts; those of one day are served in the order given.

    Returns
    -------
    list of list of (Coming, int)
        For each demand, in the order given: supplies and counts taken of them.

    Examples
    --------
    >>> friday, saturday = date(2026, 6, 12), date(2026, 6, 13)
    >>> short_lived = Coming("case", 5, friday, friday, "C-1", "")
    >>> later = Coming("plan", 5, saturday, None, "L-1", "")
    >>> found = serve([later, short_lived], [(saturday, 6), (friday, 4)])
    >>> [[(one.ref, count) for one, count in given] for given in found]
    [[('L-1', 5)], [('C-1', 4)]]
    """
    waiting = sorted(supplies, key=lambda one: one.first)
    order = sorted(range(len(demands)), key=lambda at: demands[at][0])
    given: list[list[tuple[Coming, int]]] = [[] for _ in demands]
    heap: list[tuple[tuple[date, int, str, int], int]] = []
    left = [one.count for one in waiting]
    entered = 0
    for at in order:
        day, wanted = demands[at]
        while entered < len(waiting) and waiting[entered].first <= day:
            heapq.heappush(heap, (_rank(waiting[entered], entered), entered))
            entered += 1
        while wanted > 0 and heap:
            (last, *_), index = heap[0]
            taken = 0 if last < day else min(wanted, left[index])
            if taken:
                given[at].append((waiting[index], taken))
                left[index] -= taken
                wanted -= taken
            if not taken or not left[index]:
                heapq.heappop(heap)
    return given


def _rank(one: Coming, index: int) -> tuple[date, int, str, int]:
    return one.last or date.max, _RANK.get(one.part, len(_RANK)), one.ref, index


def served(supplies: Sequence[Coming], demands: Sequence[tuple[date, int]]) -> int:
    """Return the counts that the demands get together at the most."""
    return sum(count for given in serve(supplies, demands) for _, count in given)


def most_for(supplies: Sequence[Coming], demands: Iterable[tuple[date, int]], day: date) -> int:
    """Return the counts that may still be promised for `day`, with all `demands` kept.

    A demand that cannot be met anyway takes nothing from other days.

    Examples
    --------
    >>> friday, saturday = date(2026, 6, 12), date(2026, 6, 13)
    >>> lot = Coming("case", 10, friday, saturday, "C-1", "")
    >>> most_for([lot], [(friday, 4)], saturday), most_for([lot], [(saturday, 4)], friday)
    (6, 6)
    """
    known = [one for one in demands if one[1] > 0]
    all_there = sum(one.count for one in supplies)
    return served(supplies, [*known, (day, all_there)]) - served(supplies, known)
