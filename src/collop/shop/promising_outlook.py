"""One moment of the shop as promising looks at it: what is there, what comes, what is wanted.

Frozen stock counts from the day on which the published refrigerator time has thawed it
(`collop.reference.thaw_hours`, source id ``THAW_TURKEY``), and stays frozen until then.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Weight, WeightUnit
from collop.reference import thaw_hours
from collop.shop.bench_wants import load_wants
from collop.shop.board import board_at
from collop.shop.model import Settings
from collop.shop.promising_coming import coming_in
from collop.shop.promising_flow import most_for
from collop.shop.promising_model import Coming, FreeBy, FreePart, WantedBy
from collop.shop.standing_days import unmade_lines
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots

__all__ = ["Outlook", "load_outlook", "on_hand", "wanted_by"]

_FROZEN = "frozen"
#: So many days ahead what standing orders will ask is held for them, as far as a plan may reach.
DUE_AHEAD_DAYS = 14


@dataclass(frozen=True, slots=True)
class Outlook:
    """The shop at one moment.

    Parameters
    ----------
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    lines : mapping of str to row
        Case lines with a price, in board order.
    there, coming : mapping of str to sequence of Coming
        By line: in the case, and by plan or rail.
    wanted : mapping of str to sequence of (date, int)
        By line: the day and counts of what bookings want beyond what is reserved for them.
    others : mapping of str to sequence of WantedBy
        By line: who it is that wants it.
    """

    now: datetime
    chosen: Settings
    lines: Mapping[str, AnyRow]
    there: Mapping[str, Sequence[Coming]]
    coming: Mapping[str, Sequence[Coming]]
    wanted: Mapping[str, Sequence[tuple[date, int]]]
    others: Mapping[str, Sequence[WantedBy]] = field(default_factory=dict)

    def line(self, case_id: str) -> AnyRow:
        """Return a line, or raise `NotFound`."""
        if case_id not in self.lines:
            raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                           where=case_id[:40])  # fmt: skip
        return self.lines[case_id]

    def supplies(self, case_id: str) -> list[Coming]:
        """Return all there is, and will be, of a line.

        A line sold by the whole piece counts what is there alone: what a cut will weigh by the
        piece, nobody knows.
        """
        there = list(self.there.get(case_id, ()))
        return there if self.line(case_id).by_piece else [*there, *self.coming.get(case_id, ())]

    def demands(self, case_id: str) -> Sequence[tuple[date, int]]:
        """Return what bookings still want of a line."""
        return self.wanted.get(case_id, ())

    def most(self, case_id: str, day: date) -> int:
        """Return the counts of a line that may be promised for a day."""
        return most_for(self.supplies(case_id), self.demands(case_id), day)

    def whole(self, case_id: str, day: date, count: int | None = None) -> tuple[Coming, ...] | None:
        """Return whole pieces that may be promised for a day, oldest first.

        Parameters
        ----------
        case_id : str
            A line sold by the whole piece.
        day : date
            Of collection.
        count : int, optional
            So many counts at the least; left out, as many pieces as may be promised.

        Returns
        -------
        tuple of Coming or None
            One for each piece; None if no so many may be promised.
        """
        most = self.most(case_id, day)
        found: list[Coming] = []
        for one in self.supplies(case_id):
            taken = sum(piece.count for piece in found)
            if count is not None and taken >= count:
                break
            if one.is_there(day) and taken + one.count <= most:
                found.append(one)
        short = count is not None and sum(piece.count for piece in found) < count
        return None if short else tuple(found)

    def offer(self, case_id: str, day: date) -> int:
        """Return the counts of a line to offer for a day: of goods sold whole, whole pieces."""
        if not self.line(case_id).by_piece:
            return self.most(case_id, day)
        return sum(one.count for one in self.whole(case_id, day) or ())

    def can_give(self, case_id: str, day: date, count: int) -> bool:
        """Tell whether so much may be promised for a day, in whole pieces where it is sold so."""
        if self.line(case_id).by_piece:
            return self.whole(case_id, day, count) is not None
        return self.most(case_id, day) >= count

    def free_by(self, case_id: str, day: date) -> FreeBy:
        """Return what may be promised of a line for a day, with its parts."""
        unit = self.chosen.legal_unit
        there = [one for one in self.supplies(case_id) if one.is_there(day)]
        sums: dict[str, int] = defaultdict(int)
        for one in there:
            sums[one.part] += one.count
        most = self.most(case_id, day)
        parts = tuple(FreePart(one.part, Weight(one.count, unit), one.words) for one in there)
        return FreeBy(
            case_id=case_id, name=self.line(case_id).name, day=day, weight=Weight(most, unit),
            wanted=Weight(sum(sums.values()) - most, unit), parts=parts,
            others=self._others(case_id, day, is_held=sum(sums.values()) > most),
            why_none="" if self.is_some(most) else self.why_none(case_id, day),
            **{part: Weight(sums[part], unit) for part in ("case", "thaw", "rail", "plan")},
        )  # fmt: skip

    def _others(self, case_id: str, day: date, *, is_held: bool) -> tuple[WantedBy, ...]:
        """Return who wants a line by a day; if nobody does, those it is held for after it."""
        wanting = self.others.get(case_id, ())
        soon = tuple(one for one in wanting if one.day <= day)
        return soon or (tuple(wanting) if is_held else ())

    def is_some(self, count: int) -> bool:
        """Tell whether so much is worth naming: a hundredth of the legal unit at the least."""
        return Weight(count) >= Weight.of("0.01", self.chosen.legal_unit)

    def why_none(self, case_id: str, day: date, part: str | None = None) -> str:
        """Return what there is of a line, of all or of a part, but not yet on a day.

        Empty if there is nothing.
        """
        waits = [one for one in self.supplies(case_id)
                 if one.first > day and part in {None, one.part}]  # fmt: skip
        soonest = min((one.first for one in waits), default=None)
        return "; ".join(dict.fromkeys(one.words for one in waits if one.first == soonest))


def _thawed_on(block: int, now: datetime, until: time) -> date:
    """Return the first day on which a frozen block is thawed by the hour `until`."""
    hours = thaw_hours(Weight(block, WeightUnit.LB)).planned
    ready = now + timedelta(hours=float(hours))
    return ready.date() if ready.time() <= until else ready.date() + timedelta(days=1)


def on_hand(
    conn: Connection, now: datetime, until: time, case_ids: Iterable[str] | None = None
) -> dict[str, list[Coming]]:
    """Return what lies in the case unpromised, by line, piece by piece where it has pieces.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    now : datetime
        Shop-local.
    until : time
        Hour of the day by which frozen goods must be thawed.
    case_ids : iterable of str, optional
        Lines wanted; left out, all.
    """
    sums = stock_sums(conn)
    query = (
        select(lots.c.id, lots.c.case_id, lots.c.use_by, case_lines.c.form,
               sums.c.piece_id, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .join(case_lines, case_lines.c.id == lots.c.case_id)
        .where(sums.c.place == "case", sums.c.total > 0)
        .order_by(lots.c.use_by, lots.c.since, lots.c.id, sums.c.piece_id)
    )  # fmt: skip
    if case_ids is not None:
        query = query.where(lots.c.case_id.in_(list(case_ids)))
    found: dict[str, list[Coming]] = defaultdict(list)
    today = now.date()
    for row in conn.execute(query):
        if row.use_by is not None and row.use_by < today:
            continue
        count, frozen = int(row.total), row.form == _FROZEN
        first = _thawed_on(count, now, until) if frozen else today
        words = f"frozen, thawed by {first:%a} {first.day} {first:%b}" if frozen else "in the case"
        part = "thaw" if frozen else "case"
        found[row.case_id].append(Coming(part, count, first, row.use_by, row.id, words))
    return dict(found)


def wanted_by(
    conn: Connection, now: datetime, chosen: Settings, *, with_due: bool = True
) -> dict[str, list[WantedBy]]:  # fmt: skip
    """Return who still wants what, by line; of a booking that was not collected, for today.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    with_due : bool
        Whether what standing orders are due counts too, as agreed, before it is made.
    """
    found: dict[str, list[WantedBy]] = defaultdict(list)
    today = now.date()
    for one in load_wants(conn, chosen):
        if one.left:
            day = max(today, one.collect_at.date())
            found[one.case_id].append(WantedBy(one.booking_id, day, one.left))
    last = today + timedelta(days=DUE_AHEAD_DAYS)
    for due, line in unmade_lines(conn, now, last, chosen) if with_due else ():
        found[line.case_id].append(
            WantedBy(f"standing {due.order_id}", due.collect_at.date(), line.agreed)
        )
    return dict(found)


def load_outlook(
    conn: Connection, now: datetime, chosen: Settings, *, until: time | None = None,
    coming: Mapping[str, Sequence[Coming]] | None = None, with_due: bool = True,
) -> Outlook:  # fmt: skip
    """Read the shop as it is.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    now : datetime
        Shop-local.
    chosen : Settings
        Of the shop.
    until : time, optional
        Hour by which frozen goods must be thawed, by default when the shop closes.
    coming : mapping, optional
        What `coming_in` gave a moment before; left out, it is read.
    with_due : bool
        Whether what standing orders are due, and is not made yet, is held for them.
    """
    prices = board_at(conn, now, chosen.currency)
    rows = conn.execute(select(case_lines).order_by(case_lines.c.position, case_lines.c.id))
    others = wanted_by(conn, now, chosen, with_due=with_due)
    wanted = {name: [(one.day, one.weight.count) for one in found]
              for name, found in others.items()}  # fmt: skip
    return Outlook(
        now=now, chosen=chosen, lines={row.id: row for row in rows if row.id in prices},
        there=on_hand(conn, now, until or chosen.closes),
        coming=coming_in(conn, now, chosen) if coming is None else coming,
        wanted=wanted, others=others,
    )  # fmt: skip
