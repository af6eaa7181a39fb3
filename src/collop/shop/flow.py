"""Where every pound went: one animal, or all that moved between two moments, as a flow."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import ColumnElement, Select, func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit, round_fraction
from collop.shop.knife_model import Flow, FlowLink
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import FOUND, RECEIVED
from collop.shop.lots import lot_row
from collop.shop.model import Settings
from collop.shop.railing import AIR, paid_per_count
from collop.shop.stock import moment_seq
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries, lots
from collop.shop.tracing import climb, descend

__all__ = ["flow_between", "flow_of_lot"]

_entry = ledger_entries.c
_NAMES = {
    "rail": "rail", "block": "block", "case": "case, free", "booked": "case, booked",
    "trim": "trim bins", "bone": "bone barrel", "fat": "fat tub", "bin": "bin", "sold": "sold",
}  # fmt: skip
_AIR, _LOSS, _OTHERS = "lost to air", "loss and drip", "from other lots"
# the way meat goes; what goes against it is drawn as a node of its own, so that no flow is a circle
_WAY = ("came in", FOUND, "rail", "block", "trim bins", "bone barrel", "fat tub", "case, free",
        "case, booked", "sold", "bin", _AIR, _LOSS)  # fmt: skip


def _target(place: str, reason: str) -> str:
    if place == "drip":
        return _AIR if reason == AIR else _LOSS
    return _NAMES[place]


def _money(minor: Fraction, chosen: Settings) -> Money:
    return Money(round_fraction(minor, chosen.rounding), chosen.currency)


@dataclass(frozen=True, slots=True)
class _Lost:
    money: Money | None
    is_whole: bool


def _lost_money(rows: Sequence[AnyRow], paid: Mapping[int, Fraction], chosen: Settings) -> _Lost:
    """Return what was paid for what is lost, and whether all of its prices are known."""
    lost = [row for row in rows if row.place in {"drip", "bin"} and int(row.total)]
    priced = [row for row in lost if row.delivery_number in paid]
    minor = sum((paid[row.delivery_number] * int(row.total) for row in priced), Fraction(0))
    return _Lost(_money(minor, chosen) if priced else None, len(priced) == len(lost))


def _sums(*conditions: ColumnElement[bool]) -> Select[tuple[object, ...]]:
    total = func.sum(_entry.delta)
    query = select(
        _entry.lot_id, _entry.place, lots.c.what, lots.c.kind, lots.c.delivery_number,
        _entry.reason, total.label("total"),
    ).join(lots, lots.c.id == _entry.lot_id)  # fmt: skip
    return query.where(*conditions).group_by(
        _entry.lot_id, _entry.place, lots.c.what, lots.c.kind, lots.c.delivery_number,
        _entry.reason,
    )  # fmt: skip


def flow_of_lot(conn: Connection, lot_id: str, chosen: Settings) -> Flow:
    """Return where the weight of a lot's whole animal went, part by part.

    What is mixed on the way, as mince is, is shown whole: weight of other animals or boxes comes in
    from a node of its own. Of a mixed lot it is the animal of most weight, or what else came in.

    Raises
    ------
    NotFound
        If there is no such lot.
    """
    lot_row(conn, lot_id)
    root = _root(conn, lot_id)
    below = [step.lot_id for step in descend(conn, [root])]
    rows = conn.execute(_sums(_entry.lot_id.in_(below))).all()
    links: Counter[tuple[str, str]] = Counter()
    joined = _joined(conn, below)
    names = _node_names(rows, joined)
    into = sum(int(row.total) for row in rows if row.reason in {RECEIVED, FOUND})
    for row in joined:
        is_other = row.parent_id not in names
        into += int(row.total) if is_other else 0
        source = _OTHERS if is_other else names[row.parent_id]
        links[source, names[row.child_id]] += int(row.total)
    for (lot, place, reason), count in _ends(rows).items():
        links[names[lot], _target(place, reason)] += count
    money = _lost_money(_ended(rows), _paid(conn, chosen, rows), chosen)
    return _flow(f"{names[root]}", into, links, money)


def _paid(conn: Connection, chosen: Settings, rows: Sequence[AnyRow]) -> Mapping[int, Fraction]:
    return paid_per_count(conn, chosen, [row.delivery_number for row in rows])


def _root(conn: Connection, lot_id: str) -> str:
    """Return the top of the way up from a lot: an animal before all else, then the heaviest."""
    above = [step.lot_id for step in climb(conn, [lot_id])]
    linked = select(lot_links.c.child_id)
    tops = conn.execute(
        select(lots.c.id, lots.c.kind, lots.c.weight_in)
        .where(lots.c.id.in_(above), lots.c.id.not_in(linked))
        .order_by(lots.c.weight_in.desc(), lots.c.id)
    ).all()
    animals = [row.id for row in tops if row.kind in {"animal", "piece"}]
    return next(iter([*animals, *(row.id for row in tops)]), lot_id)


def _node_names(rows: Sequence[AnyRow], joined: Sequence[AnyRow]) -> dict[str, str]:
    """Return a node for each hanging piece and each making, and one for each name of a part.

    Where parts of one name go into each other, as mince that is ground again, each has its own.
    """
    own = {"animal", "piece", "mince", "batch"}
    names = {row.lot_id: row.lot_id if row.kind in own else row.what for row in rows}
    linked = {
        (names[row.parent_id], names[row.child_id]) for row in joined if row.parent_id in names
    }
    pairs = {pair for pair in linked if pair[0] != pair[1]}
    while pairs:
        inner = {pair[1] for pair in pairs} & {pair[0] for pair in pairs}
        rest = {pair for pair in pairs if inner.issuperset(pair)}
        if rest == pairs:
            break
        pairs = rest
    circling = {name for pair in pairs for name in pair}
    what = {row.lot_id: row.what for row in rows}
    return {
        lot: f"{what[lot]} {lot}" if name in circling and name != lot else name
        for lot, name in names.items()
    }


def _joined(conn: Connection, lot_ids: list[str]) -> Sequence[AnyRow]:
    """Return the net weight that came into each lot from others."""
    total = func.sum(lot_links.c.count).label("total")
    return conn.execute(
        select(lot_links.c.parent_id, lot_links.c.child_id, total)
        .where(lot_links.c.child_id.in_(lot_ids))
        .group_by(lot_links.c.parent_id, lot_links.c.child_id)
        .having(total > 0)
    ).all()


def _ends(rows: Sequence[AnyRow]) -> Counter[tuple[str, str, str]]:
    """Return what lies where now, by lot; drip is told apart by how it was lost."""
    found: Counter[tuple[str, str, str]] = Counter()
    for row in rows:
        reason = AIR if row.place == "drip" and row.reason == AIR else ""
        found[row.lot_id, row.place, reason] += int(row.total)
    return Counter({key: count for key, count in found.items() if count > 0})


def _ended(rows: Sequence[AnyRow]) -> Sequence[AnyRow]:
    return [row for row in rows if row.place in {"drip", "bin"}]


def _flow(title: str, into: int, links: Mapping[tuple[str, str], int], lost: _Lost) -> Flow:
    unit = WeightUnit.LB
    made = tuple(
        FlowLink(source, target, Weight(count, unit))
        for (source, target), count in links.items()
        if count > 0 and source != target
    )
    return Flow(title, Weight(into, unit), made, lost.money, lost.is_whole)


def flow_between(
    conn: Connection, start: datetime, end: datetime, chosen: Settings, title: str
) -> Flow:
    """Return what moved after `start` and up to `end`, from place to place, in net.

    Two ways between the same places are netted, so that nothing flows in a circle.
    """
    first, last = moment_seq(conn, start), moment_seq(conn, end)
    rows = conn.execute(
        select(_entry.move, _entry.place, _entry.reason, func.sum(_entry.delta).label("total"))
        .where(_entry.seq > first, _entry.seq <= last)
        .group_by(_entry.move, _entry.place, _entry.reason)
    )
    pairs: dict[str, list[AnyRow]] = {}
    for row in rows:
        pairs.setdefault(row.move, []).append(row)
    links: Counter[tuple[str, str]] = Counter()
    into = 0
    for ends in pairs.values():
        into += _add_move(links, ends)
    lost = conn.execute(
        _sums(_entry.seq > first, _entry.seq <= last, _entry.place.in_(("drip", "bin")))
    ).all()
    money = _lost_money(lost, _paid(conn, chosen, lost), chosen)
    return _flow(title, into, _netted(links), money)


def _add_move(links: Counter[tuple[str, str]], ends: Sequence[AnyRow]) -> int:
    """Add one move; return what it brought in at the door."""
    if ends[0].reason in {RECEIVED, FOUND}:
        source = "came in" if ends[0].reason == RECEIVED else FOUND
        for end in ends:
            links[source, _target(end.place, end.reason)] += int(end.total)
        return sum(int(end.total) for end in ends)
    out = [end for end in ends if int(end.total) < 0]
    into = [end for end in ends if int(end.total) > 0]
    for gone in out:
        for come in into:
            names = _target(gone.place, gone.reason), _target(come.place, come.reason)
            links[names] += min(-int(gone.total), int(come.total))
    return 0


def _netted(links: Mapping[tuple[str, str], int]) -> dict[tuple[str, str], int]:
    netted = {}
    for (source, target), count in links.items():
        rest = count - links.get((target, source), 0)
        if rest > 0:
            is_back = _WAY.index(target) < _WAY.index(source)
            netted[source, f"{target}, back" if is_back else target] = rest
    return netted
