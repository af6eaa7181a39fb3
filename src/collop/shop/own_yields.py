"""The shop's own yields: a style's starting shares combined with the breaks the shop closed."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from sqlalchemy import Integer, bindparam, func, select
from sqlalchemy.engine import Connection

from collop.carcass import combine_yields
from collop.measures import Weight, WeightUnit, round_fraction
from collop.shop.knife_model import Style
from collop.shop.knife_tables import break_events, breaks, style_parts, weighings
from collop.shop.stock import stock_sums
from collop.shop.styles import load_styles
from collop.shop.tables import lots

__all__ = [
    "ClosedBreak", "OwnShare", "OwnYields", "closed_breaks", "own_yields", "per_side",
    "saleable_share",
]  # fmt: skip

#: How many breaks of the shop its starting shares are worth; small, as breed and trim differ.
WORTH = 4
_NEWEST = 24
_SALEABLE = frozenset({"cut", "trim"})


@dataclass(frozen=True, slots=True)
class OwnShare:
    """One part: its starting share, the combined one, and the spread of the next piece."""

    name: str
    kind: str
    start: Fraction
    share: Fraction
    sd: float | None


@dataclass(frozen=True, slots=True)
class OwnYields:
    """What a piece gives in this shop; `problem` is what the yields kernel was asked."""

    style: Style
    tags: tuple[str, ...]
    parts: tuple[OwnShare, ...]
    assumptions: tuple[str, ...]
    problem: dict[str, Any]

    @property
    def saleable(self) -> Fraction:
        """Return the share that is expected to be sold: cuts and trim."""
        return sum((one.share for one in self.parts if one.kind in _SALEABLE), Fraction(0))


@dataclass(frozen=True, slots=True)
class ClosedBreak:
    """A break whose parts close: `weights` in pounds by part, the loss with its gap."""

    number: int
    tag: str
    weights: dict[str, str]


_NEWEST_EVENTS = (
    select(break_events.c.break_number, func.max(break_events.c.seq).label("seq"))
    .group_by(break_events.c.break_number)
    .subquery()
)
# made once: a booking asks it for every style, and making it takes longer than the answer
_CLOSED = (
    select(breaks.c.number, breaks.c.lot_id, breaks.c.unit, break_events.c.gap)
    .join(_NEWEST_EVENTS, _NEWEST_EVENTS.c.break_number == breaks.c.number)
    .join(break_events, break_events.c.seq == _NEWEST_EVENTS.c.seq)
    .where(breaks.c.style_id == bindparam("style_id"), break_events.c.what == "closed",
           break_events.c.closes)
    .order_by(breaks.c.number.desc())
    .limit(bindparam("most", type_=Integer))
)  # fmt: skip


def _closed(conn: Connection, style_id: str, most: int) -> Sequence[Any]:
    return conn.execute(_CLOSED, {"style_id": style_id, "most": most}).all()


def _weighed(conn: Connection, numbers: list[int]) -> dict[int, Counter[str]]:
    rows = conn.execute(
        select(weighings, style_parts.c.name)
        .join(style_parts, style_parts.c.id == weighings.c.part_id)
        .where(weighings.c.break_number.in_(numbers))
    ).all()
    undone = {row.takes_back for row in rows}
    found: dict[int, Counter[str]] = defaultdict(Counter)
    for row in rows:
        if row.takes_back is None and row.seq not in undone:
            found[row.break_number][row.name] += row.weight
    return found


def closed_breaks(conn: Connection, style: Style, most: int = _NEWEST) -> list[ClosedBreak]:
    """Return the newest breaks of a style that closed by their weights, oldest first.

    A break that was closed with a reason for a gap is left out: its weights are not whole.
    """
    rows = _closed(conn, style.id, most)
    if not rows:
        return []
    weighed = _weighed(conn, [row.number for row in rows])
    loss = next((part.name for part in style.parts if part.kind == "loss"), None)
    found = []
    for row in reversed(rows):
        counts = weighed[row.number]
        if loss is not None:
            counts[loss] += row.gap
        weights = {
            part.name: str(Weight(counts[part.name]).decimal(WeightUnit.LB, 3))
            for part in style.parts
        }
        found.append(ClosedBreak(row.number, row.lot_id, weights))
    return found


def _tests(conn: Connection, style: Style) -> list[dict[str, Any]]:
    return [
        {"label": one.tag, "weights": one.weights, "unit": "lb"}
        for one in closed_breaks(conn, style)
    ]


@lru_cache(maxsize=256)
def _combined(problem: str) -> tuple[dict[str, tuple[Fraction, float | None]], tuple[str, ...]]:
    """Return share and spread of each part, and what was assumed; equal breaks combine alike."""
    plan = combine_yields(json.loads(problem))
    told = {one["part"]: (Fraction(str(one["share"])), one["sd"]) for one in plan["parts"]}
    return told, tuple(plan["assumptions"])


def own_yields(conn: Connection, style: Style) -> OwnYields:
    """Return a style's shares as this shop cuts it.

    A break that was closed with a reason for a gap is left out: its weights are not whole.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    style : Style
        Its parts give the starting shares.
    """
    problem: dict[str, Any] = {
        "schema": "collop.yields/1",
        "name": style.name,
        "published": {
            "shares": {part.name: float(part.share) for part in style.parts},
            "worth": WORTH,
            "source": style.source,
        },
        "tests": _tests(conn, style),
    }
    told, assumptions = _combined(json.dumps(problem))
    parts = tuple(
        OwnShare(part.name, part.kind, part.share, *told[part.name]) for part in style.parts
    )
    tags = tuple(test["label"] for test in problem["tests"])
    return OwnYields(style, tags, parts, assumptions, problem)


def per_side(conn: Connection) -> dict[str, Weight]:
    """Return what one side of its animal gives of a case line, by the pieces that hang now.

    A cut that both quarters hold is added up over them; a side and its quarters are two ways to
    say the same, so their mean counts. A carcass that hangs whole has two sides.
    """
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots.c.piece, func.avg(sums.c.total).label("mean"))
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "rail", lots.c.piece.is_not(None))
        .group_by(lots.c.piece)
    )
    hangs = {row.piece: int(row.mean) for row in rows}
    quarters: dict[str, Fraction] = defaultdict(Fraction)
    wholes: dict[str, list[Fraction]] = defaultdict(list)
    first = {style.piece: style for style in reversed(load_styles(conn)) if style.piece in hangs}
    for piece, style in first.items():
        share = Fraction(1, 1 if piece.endswith(("quarter", "side")) else 2)
        for part in style.parts:
            if part.case_id is None:
                continue
            gives = share * hangs[piece] * part.share
            if piece.endswith("quarter"):
                quarters[part.case_id] += gives
            else:
                wholes[part.case_id].append(gives)
    for case_id, gives in quarters.items():
        wholes[case_id].append(gives)
    return {
        case_id: Weight(round_fraction(sum(found, Fraction(0)) / len(found)))
        for case_id, found in wholes.items()
    }


def saleable_share(conn: Connection, styles: Sequence[Style]) -> dict[str, Fraction]:
    """Return the saleable share of each piece, by the first style that cuts it."""
    found: dict[str, Fraction] = {}
    for style in styles:
        if style.piece not in found:
            found[style.piece] = own_yields(conn, style).saleable
    return found
