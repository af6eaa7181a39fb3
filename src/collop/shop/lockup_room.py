"""The lock-up of the shop: count what matters, carry, convert, freeze, bin, and lock the day."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from sqlalchemy import select

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight
from collop.shop.acts import Act, Room, once
from collop.shop.converting import convert, line_row, take_free, to_trim
from collop.shop.day_gaps import checked_day
from collop.shop.day_room import DayRoom
from collop.shop.freezing import freeze
from collop.shop.ledger import move
from collop.shop.lockup_locking import lock
from collop.shop.lockup_model import Locked, LockedLine, LockUp
from collop.shop.lockup_notes import entry_of, lock_of, note
from collop.shop.lockup_problem import passing
from collop.shop.lockup_sheet import Chosen, choose, load_sheet
from collop.shop.lockup_undo import TAKEN_BACK, take_back
from collop.shop.lockup_ways import carry_no
from collop.shop.model import CaseLine
from collop.shop.putting import count_case
from collop.shop.settings import load_settings
from collop.shop.week_tables import lock_up_lines, lock_ups

__all__ = ["LockUpRoom"]

_UNDO_FOR = timedelta(hours=1)
_UNDONE = ("convert", "freeze", "bin", "carry")
#: A day may be locked on the day itself or on the next: past midnight, or the morning after.
_LATE = timedelta(days=1)


class LockUpRoom:
    """The end of the day. Reached as `Shop.lockup`.

    Every write takes the person `by` and an idempotency `key`; what is moved is moved in the same
    ledger as everything else. Nothing is moved by itself.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    # looking

    def sheet(self, day: date | None = None, *, also: str | None = None) -> LockUp:
        """Return the sheet of a day, by default today; see `collop.shop.lockup_sheet.load_sheet`.

        Parameters
        ----------
        day : date, optional
            Today or a day before it.
        also : str, optional
            A case line that is told too, chosen or not.
        """
        now = self._room.clock.now()
        day = checked_day(day or now.date())
        gaps = DayRoom(self._room).page(day).gaps if day <= now.date() else ()
        with self._room.store.read() as conn:
            return load_sheet(conn, now, load_settings(conn), day, also=also, gaps=gaps)

    def locked(self, day: date) -> Locked | None:
        """Return the lock-up of a day, None if it is not locked."""
        with self._room.store.read() as conn:
            return lock_of(conn, day)

    def lock_ups(self, most: int = 14) -> tuple[Locked, ...]:
        """Return the newest lock-ups, newest first."""
        with self._room.store.read() as conn:
            rows = conn.execute(select(lock_ups).order_by(lock_ups.c.number.desc()).limit(most))
            return tuple(Locked(row.number, row.day, row.at, row.by_id, row.note, row.facts)
                         for row in rows)  # fmt: skip

    def entry(self, seq: int) -> LockedLine:
        """Return one entry, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return entry_of(conn, seq, load_settings(conn))[0]

    # counting

    def _once(
        self, kind: str, request: object, by: str, key: str, work: Callable[[Act], int]
    ) -> LockedLine:
        number = once(self._room, kind, request, by=by, key=key, work=lambda act: str(work(act)))
        return self.entry(int(number))

    def count(
        self, case_id: str, counted: Weight, *, by: str, key: str, why: str = "",
        sure: bool = False,
    ) -> LockedLine:  # fmt: skip
        """Count a line, booked and free together; see `collop.shop.putting.count_case`."""

        def work(act: Act) -> int:
            found, line = _line(act, case_id)
            expected = line.on_hand
            count_case(act, case_id, counted, why, sure=sure)
            return note(act, act.at.date(), case_id, "count", expected=expected, counted=counted,
                        at_risk=found.at_risk(case_id, act.settings), why=why)  # fmt: skip

        return self._once("lock-up count", [case_id, counted, why, sure], by, key, work)

    def skip(self, case_id: str, *, by: str, key: str, why: str = "") -> LockedLine:
        """Leave a line uncounted tonight; it comes first the next time."""
        return self._bare("skip", case_id, by, key, why)

    def carry(self, case_id: str, *, by: str, key: str, why: str = "") -> LockedLine:
        """Leave a line as it is for the next open day; nothing moves.

        Raises
        ------
        WrongState
            If some of it is past its day before the shop opens next.
        """
        return self._bare("carry", case_id, by, key, why)

    def _bare(self, what: str, case_id: str, by: str, key: str, why: str) -> LockedLine:
        def work(act: Act) -> int:
            found, line = _line(act, case_id)
            if what == "carry":
                passes = passing(act.conn, found.opens, act.at.date()).get(case_id, 0)
                no = carry_no(line, Weight(passes, line.free.unit), found.opens)
                if no:
                    raise WrongState(no, where="do")
            weight = line.free if what == "carry" else None
            return note(act, act.at.date(), case_id, what, expected=line.on_hand, weight=weight,
                        at_risk=found.at_risk(case_id, act.settings), why=why)  # fmt: skip

        return self._once(f"lock-up {what}", [case_id, why], by, key, work)

    # moving

    def convert(
        self, case_id: str, weight: Weight, *, by: str, key: str, into: str = "",
        gives: Weight | None = None, rest: str = "", pieces: Sequence[Weight] = (),
        parts: Sequence[Weight] = (), why: str = "",
    ) -> LockedLine:  # fmt: skip
        """Send stock to the trim bin of its species, or make another line of it.

        Parameters
        ----------
        case_id : str
            The line.
        weight : Weight
            What is taken of its free stock.
        by, key : str
            Who, and the idempotency key.
        into : str
            The other line; left out, the trim bin.
        gives : Weight, optional
            What the scale says after the work; left out, all of it.
        rest : str
            Where the rest goes: bone, trim, fat or drip.
        pieces, parts : sequence of Weight
            Of goods sold by the whole piece: which are taken, and what is made of them.
        why : str
            A word or two.
        """

        def work(act: Act) -> tuple[str | None, tuple[str, ...]]:
            if not into:
                return None, to_trim(act, case_id, weight, gives=gives, rest=rest,
                                     pieces_of=pieces)  # fmt: skip
            return into, convert(act, case_id, weight, into, gives=gives, rest=rest,
                                 pieces_of=pieces, parts=parts)  # fmt: skip

        asked = [case_id, weight, into, gives, rest, list(pieces), list(parts), why]
        return self._moved("convert", asked, by, key, work)

    def freeze(
        self, case_id: str, weight: Weight, *, by: str, key: str, packed: Weight | None = None,
        into: str = "", pieces: Sequence[Weight] = (), parts: Sequence[Weight] = (),
        why: str = "",
    ) -> LockedLine:  # fmt: skip
        """Freeze stock on its frozen line; see `collop.shop.freezing.freeze`."""

        def work(act: Act) -> tuple[str | None, tuple[str, ...]]:
            return freeze(act, case_id, weight, packed=packed, into=into, pieces_of=pieces,
                          parts=parts)  # fmt: skip

        asked = [case_id, weight, packed, into, list(pieces), list(parts), why]
        return self._moved("freeze", asked, by, key, work)

    def bin(
        self, case_id: str, weight: Weight, *, by: str, key: str, why: str,
        pieces: Sequence[Weight] = (),
    ) -> LockedLine:  # fmt: skip
        """Bin free stock of a line, what is past its day first; a reason is needed."""

        def work(act: Act) -> tuple[str | None, tuple[str, ...]]:
            if not why.strip():
                raise BadValue("Why: say why it is binned; a word or two will do.", where="why")
            taken = take_free(act, line_row(act, case_id), weight, may=lambda _: True,
                              pieces_of=pieces)  # fmt: skip
            for one in taken:
                move(act, one.picks, ("case", "bin"), f"binned: {why}"[:40])
            return None, tuple(one.lot.id for one in taken)

        return self._moved("bin", [case_id, weight, list(pieces), why], by, key, work)

    def _moved(
        self, what: str, asked: list[Any], by: str, key: str,
        work: Callable[[Act], tuple[str | None, tuple[str, ...]]],
    ) -> LockedLine:  # fmt: skip
        case_id, weight, why = asked[0], asked[1], asked[-1]

        def write(act: Act) -> int:
            found, line = _line(act, case_id)
            into, made = work(act)
            return note(act, act.at.date(), case_id, what, expected=line.on_hand, weight=weight,
                        into_case=into, lot_id=made[0] if made else None, why=why,
                        at_risk=found.at_risk(case_id, act.settings))  # fmt: skip

        return self._once(f"lock-up {what}", asked, by, key, write)

    def undo(self, seq: int, *, by: str, key: str) -> LockedLine:
        """Take back what was done with a line within the last hour, by its opposite.

        Raises
        ------
        WrongState
            If it was a count (count again), is older, was taken back, or has moved on since.
        """

        def work(act: Act) -> int:
            before, act_key = entry_of(act.conn, seq, act.settings)
            _may_be_undone(act, before)
            take_back(act, act_key)
            return note(
                act, act.at.date(), before.case_id, before.what, expected=before.expected,
                at_risk=before.at_risk, into_case=before.into_case, lot_id=before.lot_id,
                weight=Weight.zero() if before.weight is None
                else Weight(-before.weight.count, before.weight.unit),
                why=f"{TAKEN_BACK}: {seq}",
            )  # fmt: skip

        return self._once("lock-up undo", seq, by, key, work)

    # locking

    def lock(
        self, day: date | None = None, note: str = "", *, by: str, key: str,
        words: Mapping[str, str] | None = None,
    ) -> Locked:  # fmt: skip
        """Lock a day, by default today; lines that were not counted are skipped.

        Parameters
        ----------
        day : date, optional
            Today or yesterday.
        note : str
            At most 400 letters.
        by, key : str
            Who, and the idempotency key.
        words : mapping of str to str, optional
            For each booking that was due and not handed over: gone, off, short or carried over.

        Raises
        ------
        WrongState
            If it is locked already.
        BadValue
            If a booking has no word, or the day is neither today nor yesterday.
        """
        now = self._room.clock.now()
        asked = day or now.date()
        if not now.date() - _LATE <= asked <= now.date():
            raise BadValue(f"Day: {asked} is neither today nor yesterday.", where="day")
        gaps = DayRoom(self._room).page(asked).gaps

        def work(act: Act) -> str:
            sheet = load_sheet(act.conn, act.at, act.settings, asked, gaps=gaps)
            return str(lock(act, sheet, note_=note, words=words or {}))

        request = [asked, note, dict(words or {})]
        once(self._room, "lock up", request, by=by, key=key, work=work)
        found = self.locked(asked)
        assert found is not None
        return found


def _line(act: Act, case_id: str) -> tuple[Chosen, CaseLine]:
    """Return what was chosen tonight, and one line of the case."""
    found = choose(act.conn, act.at, act.settings, act.at.date())
    line = found.lines.get(case_id)
    if line is None:
        raise NotFound(f"There is no case line {case_id[:40]!r} with a price.", where="case_id")
    return found, line


def _may_be_undone(act: Act, before: LockedLine) -> None:
    if before.what not in _UNDONE:
        raise WrongState(f"A count is put right by counting {before.name} again.")
    if before.why.startswith(TAKEN_BACK):
        raise WrongState("That took something back itself; do it again instead.")
    if act.at - before.at > _UNDO_FOR:
        raise WrongState(f"That was done at {before.at:%H:%M}, more than an hour ago; it stays.")
    again = select(lock_up_lines.c.seq).where(lock_up_lines.c.why == f"{TAKEN_BACK}: {before.seq}")
    if act.conn.execute(again).first() is not None:
        raise WrongState("That was taken back already.")
