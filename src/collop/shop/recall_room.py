"""Tracing and recall: what was scanned, what it means, who is called; drills that are kept."""

from __future__ import annotations

import re
from datetime import timedelta
from fractions import Fraction

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, CollopError, NotFound
from collop.measures import Weight, decimal_of
from collop.shop.acts import Act, Room, once
from collop.shop.day_tables import drills, makings, tickets
from collop.shop.knife_model import Trace
from collop.shop.making_record_lines import lots_of_supplier
from collop.shop.recall import SCOPES, find_recall
from collop.shop.recall_model import HERE, Drill, NewDrill, Recall
from collop.shop.settings import load_settings
from collop.shop.tables import lots
from collop.shop.tracing import lots_of_booking, trace

__all__ = ["TracingRoom", "lots_meant"]

_LONGEST = 200
_TICKET = re.compile(r"T([1-9][0-9]{0,14})", re.ASCII)
_PAIR = re.compile(r"(T[1-9][0-9]{0,14})[ \x1d]+(\S+)", re.IGNORECASE | re.ASCII)
_BOOKING = re.compile(r"H[1-9][0-9]{0,14}", re.ASCII)
# the lot of a scanned GS1 code, in its written or its transmitted form
_IN_CODE = re.compile(r"\(10\)([^()\x1d]{1,20})")
_NEWEST = 50
_LONGEST_MS = 86_400_000


def _has_lot(conn: Connection, name: str) -> str | None:
    """Return the lot of a name as it was scanned, or as it was typed without capitals."""
    for one in (name, name.upper()):
        if conn.scalar(select(lots.c.id).where(lots.c.id == one)) is not None:
            return one
    return None


def _of_ticket(conn: Connection, text: str) -> list[str]:
    found = _TICKET.fullmatch(text.upper())
    if found is None:
        return []
    lot_id = conn.scalar(select(tickets.c.lot_id).where(tickets.c.number == int(found[1])))
    return [] if lot_id is None else [lot_id]


def _of_making(conn: Connection, text: str) -> list[str]:
    """Return the mince lots or batches of a code, or those that took in a supplier's lot."""
    code = conn.scalar(select(makings.c.lot_id).where(makings.c.code == text.upper()))
    if code is not None:
        return [code]
    return lots_of_supplier(conn, text)


def _of_booking(conn: Connection, text: str) -> list[str]:
    if not _BOOKING.fullmatch(text.upper()):
        return []
    return list(lots_of_booking(conn, text.upper()))


def _check_pair(conn: Connection, text: str) -> None:
    """Refuse a scanned ticket and lot that do not belong together."""
    pair = _PAIR.fullmatch(text)
    printed = _of_ticket(conn, pair[1]) if pair else []
    # a ticket of a book that is gone is not known: its lot is looked for alone
    if pair and printed and printed[0].casefold() != pair[2].casefold():
        raise BadValue(
            f"{pair[1].upper()} is of lot {printed[0]}, and the code says {pair[2][:60]}: type the"
            " lot that stands on the label.",
            where="lot",
        )


def _in_code(text: str) -> str:
    """Return the lot inside a scanned code, empty if the text is no such code."""
    written = _IN_CODE.search(text)
    if written:
        return written[1]
    if "\x1d" not in text and not text.startswith(("]", "01")):
        return ""
    from collop.ticket import decode  # noqa: PLC0415 -- only a scanned code needs it

    try:
        elements = decode(text)
    except CollopError:
        return ""
    return next((one.value for one in elements if one.ai == "10"), "")


def lots_meant(conn: Connection, text: str) -> list[str]:
    """Return the lots somebody means.

    Parameters
    ----------
    conn : Connection
        A reader.
    text : str
        A lot, a ticket such as ``T12``, a booking such as ``H1``, a mince lot, a supplier's lot, or
        what a scanner read off a ticket.

    Raises
    ------
    BadValue
        If it is empty, too long or not printable, or names a ticket with the lot of another.
    NotFound
        If nothing has that name.
    """
    wanted = text.strip()
    if not 1 <= len(wanted) <= _LONGEST or not wanted.replace("\x1d", "").isprintable():
        raise BadValue(
            "Scan a ticket, or type a lot, a ticket or a booking in 1 to 200 characters.",
            where="lot",
        )
    _check_pair(conn, wanted)
    for name in dict.fromkeys((wanted, *wanted.split(), _in_code(wanted))):
        if not name:
            continue
        own = _has_lot(conn, name)
        if own is not None:
            return [own]
        for way in (_of_ticket, _of_booking, _of_making):
            found = way(conn, name)
            if found:
                return found
    shown = wanted[:60].replace("\x1d", " ")
    raise NotFound(f"There is no lot {shown!r}; scan the ticket again.", where="lot")


class TracingRoom:
    """From a ticket to the farm and to everybody who has of it. Reached as `Shop.tracing`.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def meant(self, text: str) -> tuple[str, ...]:
        """Return the lots that a scanned or typed text means; see `lots_meant`."""
        with self._room.store.read() as conn:
            return tuple(lots_meant(conn, text))

    def traces(self, text: str) -> tuple[Trace, ...]:
        """Return the trace of each lot that a scanned or typed text means."""
        with self._room.store.read() as conn:
            return tuple(trace(conn, one) for one in lots_meant(conn, text))

    def recall(self, text: str, *, scope: str = "source") -> Recall:
        """Return all that is affected if the source of a lot is recalled.

        Parameters
        ----------
        text : str
            What was scanned or typed; see `lots_meant`.
        scope : str
            ``source`` or ``lot``; see `collop.shop.recall.find_recall`.

        Raises
        ------
        BadValue
            If the text or the scope is none.
        NotFound
            If nothing has that name.
        """
        if scope not in SCOPES:
            raise BadValue(f"{scope!r} is no way to begin; use {' or '.join(SCOPES)}.",
                           where="scope")  # fmt: skip
        with self._room.store.read() as conn:
            lot_ids = lots_meant(conn, text)
            chosen = load_settings(conn)
            return find_recall(
                conn, text.strip(), lot_ids, chosen, at=self._room.clock.now(), scope=scope
            )

    def keep_drill(
        self, text: str, new: NewDrill, *, by: str, key: str, scope: str = "source"
    ) -> Drill:
        """Keep a mock recall of what `text` means: it ends now.

        Raises
        ------
        BadValue
            If it began later than now or over a day ago, or a figure is below zero.
        """
        answer = self.recall(text, scope=scope)
        number = once(
            self._room, "drill", [text.strip(), scope, new], by=by, key=key,
            work=lambda act: str(_write_drill(act, answer, new)),
        )  # fmt: skip
        return next(one for one in self.drills() if one.number == int(number))

    def drills(self) -> tuple[Drill, ...]:
        """Return the newest fifty drills, newest first."""
        with self._room.store.read() as conn:
            rows = conn.execute(select(drills).order_by(drills.c.number.desc()).limit(_NEWEST))
            return tuple(
                Drill(
                    number=row.number, lot_id=row.lot_id, begun_at=row.begun_at, ended_at=row.at,
                    milliseconds=row.milliseconds, found_pct=row.found_pct,
                    counted_pct=row.facts.get("counted_pct"), note=row.facts.get("note", ""),
                    by=row.by_id,
                )
                for row in rows
            )  # fmt: skip


def _counted_pct(answer: Recall, counted: Weight | None) -> str | None:
    """Return what was counted in per cent of what the ledger says is here."""
    if counted is None:
        return None
    here = sum(weight.count for place, weight in answer.balance.places if place in HERE)
    return str(decimal_of(Fraction(100 * counted.count, here), 2)) if here else "100.00"


def _check_drill(act: Act, new: NewDrill) -> None:
    age = act.at - new.begun_at
    if age < timedelta(0):
        raise BadValue("The drill cannot begin later than now.", where="begun_at")
    if age > timedelta(days=1):
        raise BadValue("It was asked for over a day ago; begin the drill again.", where="begun_at")
    if new.counted is not None and new.counted < Weight.zero():
        raise BadValue("What was counted is zero or more.", where="counted")
    if len(new.note) > _LONGEST or not new.note.isprintable():
        raise BadValue("Write a note of at most 200 characters.", where="note")
    if not 0 <= new.milliseconds <= _LONGEST_MS:
        raise BadValue("The answer took zero milliseconds or more.", where="milliseconds")


def _write_drill(act: Act, answer: Recall, new: NewDrill) -> int:
    _check_drill(act, new)
    facts = {
        "asked": answer.asked, "scope": answer.scope, "note": new.note,
        "counted_pct": _counted_pct(answer, new.counted), "lots": len(answer.lots),
        "customers": len(answer.customers), "tickets": len(answer.tickets),
    }  # fmt: skip
    result = act.conn.execute(
        insert(drills).values(
            lot_id=answer.chain[0], begun_at=new.begun_at, milliseconds=new.milliseconds,
            found_pct=answer.balance.found_pct, facts=facts, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    number = result.inserted_primary_key
    assert number is not None
    return int(number[0])
