"""How far the weight of some lots went: the walk along the links, and shares in mixed lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop.knife_tables import lot_links
from collop.shop.ledger import DOOR
from collop.shop.tables import ledger_entries

__all__ = ["Spread", "chunks", "roots_of", "spread_of"]

_entry = ledger_entries.c
# SQLite takes at most 32,766 values in one question (sqlite.org/limits.html)
_AT_ONCE = 10_000


@dataclass(frozen=True, slots=True)
class _Links:
    """Net weight that went from one lot into another, in counts."""

    counts: Mapping[tuple[str, str], int]

    def parents(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = defaultdict(list)
        for parent, child in sorted(self.counts):
            found[child].append(parent)
        return found


def chunks(names: Iterable[str]) -> Iterable[list[str]]:
    """Return names, each once, in lists that one question may hold."""
    every = sorted(set(names))
    return (every[at : at + _AT_ONCE] for at in range(0, len(every), _AT_ONCE))


def _links(conn: Connection, names: Iterable[str], *, down: bool) -> dict[tuple[str, str], int]:
    """Return the links out of lots, or into them; what was taken back whole is left out."""
    total = func.sum(lot_links.c.count)
    side = lot_links.c.parent_id if down else lot_links.c.child_id
    found: dict[tuple[str, str], int] = {}
    for some in chunks(names):
        rows = conn.execute(
            select(lot_links.c.parent_id, lot_links.c.child_id, total.label("total"))
            .where(side.in_(some))
            .group_by(lot_links.c.parent_id, lot_links.c.child_id)
            .having(total > 0)
        )
        found |= {(row.parent_id, row.child_id): int(row.total) for row in rows}
    return found


def _walk(conn: Connection, names: Iterable[str], *, down: bool) -> _Links:
    """Follow links level by level to their end: a carry-over may run through many mince lots."""
    links: dict[tuple[str, str], int] = {}
    seen = set(names)
    level = set(seen)
    while level:
        step = _links(conn, level, down=down)
        links |= step
        level = {pair[1 if down else 0] for pair in step} - seen
        seen |= level
    return _Links(links)


def roots_of(conn: Connection, lot_ids: Sequence[str], scope: str) -> tuple[list[str], list[str]]:
    """Return where the recall begins, and the chain of lots from there to those asked for."""
    if scope == "lot":
        return list(lot_ids), list(lot_ids)
    up = _walk(conn, lot_ids, down=False)
    parents = up.parents()
    every = dict.fromkeys([*lot_ids, *(parent for parent, _ in up.counts)])
    return [name for name in every if not parents.get(name)], list(every)


def _in_order(names: set[str], parents: Mapping[str, Sequence[str]]) -> list[str]:
    """Return lots so that each comes after those it was made from."""
    waits = {name: sum(1 for one in parents.get(name, ()) if one in names) for name in names}
    children: dict[str, list[str]] = defaultdict(list)
    for child in names:
        for parent in parents.get(child, ()):
            children[parent].append(child)
    ready = sorted(name for name, count in waits.items() if not count)
    done: list[str] = []
    while ready:
        name = ready.pop()
        done.append(name)
        for child in sorted(children[name]):
            waits[child] -= 1
            if not waits[child]:
                ready.append(child)
    return done


def _door(conn: Connection, names: Iterable[str]) -> dict[str, int]:
    """Return what came into each lot from outside: at the door, or found by a scale."""
    found: dict[str, int] = {}
    for some in chunks(names):
        rows = conn.execute(
            select(_entry.lot_id, func.sum(_entry.delta).label("total"))
            .where(_entry.lot_id.in_(some), _entry.reason.in_(DOOR))
            .group_by(_entry.lot_id)
        )
        found |= {row.lot_id: int(row.total) for row in rows}
    return found


@dataclass(frozen=True, slots=True)
class Spread:
    """How far recalled weight went: shares by lot, and what came in from where, in counts."""

    roots: frozenset[str]
    order: tuple[str, ...]
    parents: Mapping[str, Sequence[str]]
    shares: Mapping[str, Fraction]
    came_in: int
    others: int


def spread_of(conn: Connection, roots: Sequence[str]) -> Spread:
    """Return how far the weight of some lots went, and how much of each lot it is."""
    below = _walk(conn, roots, down=True)
    names = set(roots) | {child for _, child in below.counts}
    into = _Links(_links(conn, names, down=False))
    parents, door = into.parents(), _door(conn, names)
    shares: dict[str, Fraction] = {}
    came_in = others = 0
    order = _in_order(names, parents)
    for name in order:
        outside = door.get(name, 0)
        recalled = Fraction(0)
        total = outside
        for parent in parents.get(name, ()):
            count = into.counts[parent, name]
            total += count
            recalled += count * shares.get(parent, Fraction(0))
            outside += 0 if parent in names else count
        if name in roots:
            shares[name] = Fraction(1)
            came_in += outside
        else:
            shares[name] = recalled / total if total else Fraction(0)
            others += outside
    return Spread(frozenset(roots), tuple(order), parents, shares, came_in, others)
