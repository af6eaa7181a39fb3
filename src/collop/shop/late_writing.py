"""Paper keyed back: each row by the service that would have written it, all of a sheet or none.

A row is known by its sheet and number, so the same row keyed twice is written once. Beside each act
stands when it was done; prices are those of the board at that time, not of now. What is free is
what is free now.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Select, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, CollopError, NotFound, WrongState
from collop.measures import UnitPrice
from collop.shop.acts import Act, Room, once_in
from collop.shop.bench_kept import latest_plan
from collop.shop.bench_list import load_bench
from collop.shop.bench_list_model import BenchList
from collop.shop.bench_marks import done
from collop.shop.board import prices_before
from collop.shop.booking import Terms, begin_booking, reserve
from collop.shop.counter import hand_over_in
from collop.shop.day_checks import check_cold
from collop.shop.day_writing import done_when
from collop.shop.hook import booking_id, load_booking, load_slip
from collop.shop.late_model import (
    KeyedBack,
    KeyedRow,
    LateAct,
    LateBench,
    LateCold,
    LateHandOver,
    LateOrder,
    LateRow,
    LateSale,
)
from collop.shop.lines import HeldPrice
from collop.shop.model import NewBooking, NewLine, Settings
from collop.shop.papers_model import sheet_day, sheet_of
from collop.shop.payments import write_payment
from collop.shop.quotes import number_in
from collop.shop.selling import sell_in
from collop.shop.selling_model import COUNTER, NewPayment
from collop.shop.store import AnyRow
from collop.shop.tables import acts, booking_events, bookings
from collop.shop.week_tables import PAYMENT_WAYS, late_acts

__all__ = ["bench_now", "key_back", "late_acts_of", "late_between"]

_MOST_ROWS = 120
_HIGHEST_ROW = 10**9
_KIND = {LateSale: ("sales", "late sale"), LateHandOver: ("bookings", "late hand-over"),
         LateCold: ("cold", "late cold check"), LateBench: ("bench", "late bench weight"),
         LateOrder: ("orders", "late order")}  # fmt: skip


def key_back(
    room: Room, sheets: Sequence[tuple[str, Sequence[LateRow]]], *, by: str
) -> tuple[KeyedBack, ...]:
    """Write the rows of sheets, all of them or none.

    Parameters
    ----------
    room : Room
        Database and clock.
    sheets : sequence of (str, sequence)
        Number of a sheet, such as ``P-0610-S3``, and 1 to 120 rows of its kind, each number once.
    by : str
        Who writes them.

    Raises
    ------
    BadValue
        If a sheet is none, a row is of another kind or there twice, or any row is refused by its
        service; the row is named, nothing is written, and `where` is its sheet, row and field.
    NotFound
        If nobody is called `by`.
    """
    wanted = [(sheet_of(sheet), rows) for sheet, rows in sheets]
    for (told, kind), rows in wanted:
        _checked(told, kind, rows)

    def write(conn: Connection) -> tuple[KeyedBack, ...]:
        return tuple(_keyed(conn, room, told, rows, by) for (told, _), rows in wanted)

    return room.store.run(write)


def _keyed(conn: Connection, room: Room, sheet: str, rows: Sequence[LateRow], by: str) -> KeyedBack:
    day, found = sheet_day(sheet, room.clock.now().date()), []
    for row in sorted(rows, key=lambda one: one.row):
        try:
            answer, was_before = once_in(
                conn, room, _KIND[type(row)][1], row, by=by, key=_key(sheet, day, row.row),
                work=_work(sheet, day, row),
            )  # fmt: skip
        except CollopError as error:
            raise _named(error, sheet, row.row) from error
        found.append(KeyedRow(row.row, answer, was_before))
    return KeyedBack(sheet, tuple(found))


def _key(sheet: str, day: date, row: int) -> str:
    return f"paper {day.year} {sheet} row {row}"


def _named(error: CollopError, sheet: str, row: int) -> CollopError:
    if error.where == "by":
        return error
    if error.where == "key":
        said = "it was keyed in before, as something else; look at what stands there"
        return BadValue(
            f"Row {row} of {sheet}: {said}. Nothing was written.", where=f"{sheet} row {row}"
        )
    where = f"{sheet} row {row} {error.where}".strip()
    return BadValue(f"Row {row} of {sheet}: {error.message} Nothing was written.", where=where)


def _checked(sheet: str, kind: str, rows: Sequence[LateRow]) -> None:
    if not 1 <= len(rows) <= _MOST_ROWS:
        raise BadValue(f"Key 1 to {_MOST_ROWS} rows of a sheet at once.", where="rows")
    seen = set[int]()
    for row in rows:
        if _KIND[type(row)][0] != kind:
            raise BadValue(f"{sheet} is no sheet for this; look at the letter of its number.",
                           where="sheet")  # fmt: skip
        if not 1 <= row.row <= _HIGHEST_ROW or row.row in seen:
            raise BadValue(f"Row {row.row} of {sheet} is there twice or is none; give each row "
                           "its number.", where=f"{sheet} row {row.row}")  # fmt: skip
        seen.add(row.row)


def _work(sheet: str, day: date, row: LateRow) -> Callable[[Act], str]:
    def work(act: Act) -> str:
        when = done_when(act, datetime.combine(day, row.at))
        told = f"{sheet} row {row.row}"
        answer = _write(act, row, when, told)
        act.conn.execute(insert(late_acts).values(
            done_at=when, sheet=told, at=act.at, by_id=act.by, key=act.key,
        ))  # fmt: skip
        return answer

    return work


def _write(act: Act, row: LateRow, when: datetime, told: str) -> str:
    if isinstance(row, LateSale):
        paid = NewPayment(row.paid) if row.paid else None
        number = sell_in(act, row.lines, paid, name=row.name or COUNTER, priced_at=when)
        return booking_id(number)
    if isinstance(row, LateHandOver):
        return _hand_over(act, row)
    if isinstance(row, LateCold):
        words = replace(row.told, paper=told)
        return check_cold(act, row.place_id, row.reading, words, done_at=when)
    if isinstance(row, LateBench):
        return _bench(act, row, when)
    return _order(act, row, when)


def _hand_over(act: Act, row: LateHandOver) -> str:
    number = number_in("H", row.booking_id, "booking")
    hand_over_in(act, load_booking(act.conn, number, act.settings), row.weighed)
    if row.paid:
        if row.paid not in PAYMENT_WAYS:
            raise BadValue(f"It is paid by {', '.join(PAYMENT_WAYS)}.", where="paid")
        charged = load_slip(act.conn, number, act.settings).charged
        amount = charged.cash.to_pay if row.paid == "cash" else charged.due
        if amount.minor > 0:
            write_payment(act, number, "payment", row.paid, amount)
    return booking_id(number)


def bench_now(conn: Connection, now: datetime, chosen: Settings) -> BenchList:
    """Return the list of the cutting room as it is, with what the kept plan still says."""
    kept = latest_plan(conn, now)
    if kept is None or date.fromisoformat(kept.plan["days"][-1]) < now.date():
        return load_bench(conn, now, chosen, None)
    return load_bench(conn, now, chosen, kept.plan, kept.at)


def _bench(act: Act, row: LateBench, when: datetime) -> str:
    on = bench_now(act.conn, act.at, act.settings)
    line = next((one for one in on.lines if one.number == row.number), None)
    if line is None:
        raise NotFound(f"No line of the list has the number {row.number} and is open; look at the "
                       "list on the screen.", where="number")  # fmt: skip
    if row.line and row.line != line.id:
        raise WrongState(f"The number {row.number} is {line.what} now; the list changed meanwhile,"
                         " look at it again.", where="number")  # fmt: skip
    # the weight was read twice: on the scale, and off the paper
    written = when.time() if when.date() == act.at.date() else None
    done(act, on, line.id, row.weight, sure=True, written=written)
    return line.id


def _order(act: Act, row: LateOrder, when: datetime) -> str:
    eats = row.dont_eats.strip()
    parts = (row.note.strip(), f"Don't eat, as written: {eats}" if eats else "")
    words = ". ".join(part for part in parts if part)
    new = NewBooking(
        name=row.name, collect_at=row.collect_at, by=act.by or "", phone_end=row.phone_end,
        heads=row.heads, ask={"dont_eats": [eats]} if eats else {}, note=words,
        lines=tuple(NewLine(case_id, weight) for case_id, weight in row.lines),
        deposit=row.deposit,
    )  # fmt: skip
    begun = begin_booking(act, new, Terms(accept_new_price=True))
    prices = prices_before(act.conn, when, act.settings.currency)
    reserve(act, begun.number, begun.lines, _held(begun.lines, prices))
    return booking_id(begun.number)


def _held(lines: Iterable[NewLine], prices: dict[str, UnitPrice]) -> list[HeldPrice]:
    return [HeldPrice(line.case_id, prices[line.case_id], line.weight.count) for line in lines
            if line.case_id in prices]  # fmt: skip


# what stands there


def _late(rows: Iterable[AnyRow]) -> tuple[LateAct, ...]:
    return tuple(
        LateAct(done_at=row.done_at, at=row.at, sheet=row.sheet, by=row.by_id, kind=row.kind,
                answer=row.answer)
        for row in rows
    )  # fmt: skip


def _query() -> Select[Any]:
    joined = acts.c.key == late_acts.c.key
    return select(late_acts, acts.c.kind, acts.c.answer).join(acts, joined)


def late_between(conn: Connection, first: date, last: date) -> tuple[LateAct, ...]:
    """Return what was done on paper from `first` to `last`, both included, by time done."""
    start = datetime.combine(first, datetime.min.time())
    until = datetime.combine(last, datetime.min.time()) + timedelta(days=1)
    wanted = late_acts.c.done_at >= start, late_acts.c.done_at < until
    return _late(
        conn.execute(_query().where(*wanted).order_by(late_acts.c.done_at, late_acts.c.seq))
    )


def late_acts_of(conn: Connection, number: int) -> tuple[LateAct, ...]:
    """Return what of a booking was done on paper before it was written, oldest first."""
    keys = select(booking_events.c.key).where(booking_events.c.booking_number == number).union(
        select(bookings.c.key).where(bookings.c.number == number))  # fmt: skip
    return _late(conn.execute(_query().where(late_acts.c.key.in_(keys)).order_by(late_acts.c.seq)))
