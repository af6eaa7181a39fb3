"""Work on what is booked or free: boned, tied, sliced. A new lot of the same animal comes of it.

What was worked on leaves its lot; what it became is a lot cut from it, as old as it was and to be
used by the same day, on a line of the case of its own. Under a booking the customer pays for what
was booked: bone that is taken out for her was bought.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.hook import booking_id, load_booking
from collop.shop.learning_cuts import note_test
from collop.shop.ledger import Pick, free_lots, held_by, move, pass_on
from collop.shop.lots import NewLot, link, lot_row, make_lot, next_name
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines, lots
from collop.shop.week_tables import line_weighings, line_works
from collop.shop.works_case import line_of_work
from collop.shop.works_model import RESTS
from collop.shop.works_reading import line_states

__all__ = [
    "WORKED",
    "BookedRow",
    "WorkOn",
    "booked_row",
    "is_boning",
    "is_booked_line",
    "weigh_anew",
    "work",
]  # fmt: skip

WORKED = "worked on"
_LONGEST = 200
_BONED = re.compile(r"\b(de-?)?bon(ed|eless|ing)\b")
_PARTLY = re.compile(r"\b(part|partly|half|semi)[- ]bon(ed|ing)\b")


@dataclass(frozen=True, slots=True)
class BookedRow:
    """A stored line of a booking, and the number of the booking."""

    row: AnyRow
    number: int

    @property
    def name(self) -> str:
        """Return the id people say, e.g. ``H1-2``."""
        return f"{booking_id(self.number)}-{self.row.position}"


@dataclass(frozen=True, slots=True)
class WorkOn:
    """What somebody did. `what` is a booked line such as ``H1-1``, or a line of the case.

    `into` is a line of the case, or the name of a new one; left empty it is named after `words`.
    """

    what: str
    before: Weight
    after: Weight
    words: str
    into: str = ""
    rest: str = "bone"


def booked_row(conn: Connection, line_id: str) -> BookedRow:
    """Return the stored line of an id such as ``H1-2``, or raise `NotFound`."""
    booked, _, place = line_id.strip().upper().partition("-")
    digits = booked.removeprefix("H")
    if booked.startswith("H") and all(
        one.isascii() and one.isdigit() and len(one) < 10 for one in (digits, place)
    ):
        row = conn.execute(
            select(booking_lines).where(
                booking_lines.c.booking_number == int(digits),
                booking_lines.c.position == int(place),
            )
        ).first()
        if row is not None:
            return BookedRow(row, int(digits))
    raise NotFound(f"There is no booked line {line_id[:40]!r}; look at the slip.", where="line")


def is_booked_line(what: str) -> bool:
    """Tell whether a name is that of a booked line, and not of a line of the case."""
    return what.strip().upper().startswith("H") and "-" in what


def _checked(asked: WorkOn) -> None:
    words = asked.words.strip()
    if not 1 <= len(words) <= _LONGEST or not words.isprintable():
        raise BadValue("Say what was done, like: boned and tied.", where="words")
    if asked.rest not in RESTS:
        raise BadValue(f"What was taken off goes to one of {', '.join(RESTS)}.", where="rest")
    if asked.before <= Weight.zero() or asked.after <= Weight.zero():
        raise BadValue("Weigh it before and after; both are more than nothing.", where="after")
    if asked.after > asked.before:
        raise BadValue(
            f"{asked.after.text()} after the work is more than {asked.before.text()} before it;"
            " weigh both again.",
            where="after",
        )


def _taken(picks: Iterable[Pick], count: int) -> list[Pick] | None:
    """Return picks of `count` altogether, whole pieces whole; None if they do not make it up."""
    taken = []
    for pick in picks:
        part = min(pick.count, count)
        if part and (pick.piece_id is None or part == pick.count):
            taken.append(replace(pick, count=part))
            count -= part
    return None if count else taken


def _held_raw(act: Act, booked: BookedRow) -> list[Pick]:
    """Return what a line holds of its own line of the case, oldest first: not what was worked."""
    picks = held_by(act.conn, booked.row.id)
    rows = act.conn.execute(
        select(lots.c.id, lots.c.case_id, lots.c.use_by).where(
            lots.c.id.in_([one.lot_id for one in picks])
        )
    ).all()
    own = {row.id: (row.use_by is None, row.use_by) for row in rows
           if row.case_id == booked.row.case_id}  # fmt: skip
    return sorted((one for one in picks if one.lot_id in own), key=lambda one: own[one.lot_id])


def _free_raw(act: Act, case_id: str) -> list[Pick]:
    return [
        one
        for lot in free_lots(act.conn, case_id, act.at.date())
        for one in (lot.pieces or (Pick(lot.id, lot.count, lot.unit),))
    ]


def _shares(picks: Sequence[Pick], asked: WorkOn) -> list[int]:
    """Share what was weighed after over the lots it was made of, by weight; to the last count.

    No lot gets more than it gave: the shares are the steps between rounded sums.
    """
    after, whole = asked.after.count, sum(one.count for one in picks)
    sums, given = [0], 0
    for one in picks:
        given += one.count
        sums.append(after * given // whole)
    shares = [last - first for first, last in pairwise(sums)]
    if 0 in shares:
        raise BadValue(
            f"{asked.after.text()} is too little to come of {len(picks)} lots; weigh it again.",
            where="after",
        )
    return shares


def _by_lot(picks: Iterable[Pick]) -> list[list[Pick]]:
    found: dict[str, list[Pick]] = {}
    for one in picks:
        found.setdefault(one.lot_id, []).append(one)
    return list(found.values())


def _made_from(act: Act, parent_id: str, case_id: str | None, what: str, weight: Weight) -> NewLot:
    """Return a lot as old as the one it is made of, to be used by the same day."""
    parent = lot_row(act.conn, parent_id)
    return NewLot(
        id=next_name(act.conn, parent_id), kind="cut", species=parent.species, what=what,
        weight=weight, since=parent.since, farm=parent.farm, case_id=case_id,
        use_by=parent.use_by, delivery_number=parent.delivery_number,
    )  # fmt: skip


def _carry(
    act: Act, picks: Sequence[Pick], new: NewLot, way: tuple[str, str], line_id: int | None
) -> None:
    make_lot(act, new)
    for given in picks:
        taken = Pick(new.id, given.count, given.unit)
        moved = pass_on(act, given, taken, way, WORKED, line_id=line_id)
        link(act, moved, given.lot_id, new.id, given.count)


def _split(picks: Sequence[Pick], count: int) -> tuple[list[Pick], list[Pick]]:
    first, rest = [], []
    for one in picks:
        part = min(one.count, count)
        count -= part
        first += [replace(one, count=part)] if part else []
        rest += [replace(one, count=one.count - part)] if one.count > part else []
    return first, rest


def _work_lot(
    act: Act, picks: Sequence[Pick], after: int, into: AnyRow, *, asked: WorkOn,
    booked: BookedRow | None,
) -> int:  # fmt: skip
    """Work on weight of one lot and return the number of the row."""
    place, line_id = ("case", None) if booked is None else ("booked", booked.row.id)
    parent, unit = picks[0].lot_id, asked.after.unit
    before = sum(one.count for one in picks)
    # what is only lost stays in the made lot until it is lost: the loss is of what was worked on
    kept = before if asked.rest == "drip" else after
    main, off = _split(picks, kept)
    child = _made_from(act, parent, into.id, into.name, Weight(kept, unit))
    _carry(act, main, child, (place, place), line_id)
    if off:
        what = f"{asked.rest} of {lot_row(act.conn, parent).what}"[:120]
        rest = _made_from(act, parent, None, what, Weight(before - after, unit))
        _carry(act, off, rest, (place, asked.rest), line_id)
    elif kept > after:
        lost = [Pick(child.id, kept - after, unit.value)]
        move(act, lost, (place, "drip"), WORKED, line_id)
    made = {"from_case": lot_row(act.conn, parent).case_id, "into_case": into.id,
            "lot_id": child.id, "before": before, "after": after}  # fmt: skip
    return _note(act, booked, made, asked)


def _note(act: Act, booked: BookedRow | None, made: dict[str, object], asked: WorkOn) -> int:
    key = act.conn.execute(
        insert(line_works).values(
            **made, booking_line_id=None if booked is None else booked.row.id,
            unit=asked.after.unit.value, words=asked.words.strip(), at=act.at, by_id=act.by,
            key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _there(act: Act, asked: WorkOn) -> tuple[BookedRow | None, str, list[Pick]]:
    """Return the booked line, the line of the case, and what of it may be worked on."""
    if not is_booked_line(asked.what):
        found = act.conn.execute(select(case_lines).where(case_lines.c.id == asked.what)).first()
        if found is None:
            raise NotFound(f"There is no case line {asked.what[:40]!r}; look at the case again.",
                           where="what")  # fmt: skip
        return None, found.id, _free_raw(act, found.id)
    booked = booked_row(act.conn, asked.what)
    booking = load_booking(act.conn, booked.number, act.settings)
    if not booking.state.holds:
        raise WrongState(f"{booking.id} is {booking.state}; work on what is free instead.")
    if line_states(act.conn, [booked.row.id])[booked.row.id].off:
        raise WrongState(f"{booked.name} is off; work on what is free instead.")
    return booked, booked.row.case_id, _held_raw(act, booked)


def _too_little(there: Sequence[Pick], asked: WorkOn) -> NotEnoughFree:
    unit = asked.before.unit
    total = Weight(sum(one.count for one in there), unit).text()
    whole = ""
    if there and there[0].piece_id is not None:
        whole = f", in pieces of {Weight(there[0].count, unit).text()}"
    return NotEnoughFree(
        f"{total} of {asked.what} is there to be worked on{whole}, not {asked.before.text()};"
        " weigh it again.",
        where="before",
    )


def work(act: Act, asked: WorkOn) -> int:
    """Do one piece of work and return its number.

    Raises
    ------
    NotFound
        If there is no such booked line or line of the case.
    WrongState
        If its booking does not hold any more, or the line is off.
    NotEnoughFree
        If less than that is there to be worked on.
    BadValue
        If it weighs more after than before, or goods sold whole are not worked on whole.
    """
    _checked(asked)
    booked, case_id, there = _there(act, asked)
    picks = _taken(there, asked.before.count)
    if picks is None:
        raise _too_little(there, asked)
    into = line_of_work(act, case_id, asked.into, asked.words.strip(), before=asked.before,
                        after=asked.after)  # fmt: skip
    groups = _by_lot(picks)
    sums = [Pick(one[0].lot_id, sum(pick.count for pick in one), one[0].unit) for one in groups]
    shares = _shares(sums, asked)
    numbers = [_work_lot(act, group, share, into, asked=asked, booked=booked)
               for group, share in zip(groups, shares, strict=True)]  # fmt: skip
    if is_boning(asked, into):
        lot_id = sums[0].lot_id if len(sums) == 1 else None
        note_test(act, case_id, (asked.before, asked.after), words=asked.words, lot_id=lot_id,
                  work_number=numbers[0])  # fmt: skip
    if booked is not None:
        weigh_anew(act, booked.row)
    return numbers[0]


def is_boning(asked: WorkOn, into: AnyRow) -> bool:
    """Tell whether work took all bone out, so that it is a cutting test of its line.

    The words say so, or the name of what it became; what came of it on the scale does not, or only
    poor yields would be learned from.
    """
    said = f"{asked.words} {into.name}".casefold()
    return asked.rest == "bone" and bool(_BONED.search(said)) and not _PARTLY.search(said)


def weigh_anew(act: Act, row: AnyRow) -> None:
    """Keep what a line weighed ahead in step with what it holds since."""
    last = act.conn.execute(
        select(line_weighings)
        .where(line_weighings.c.booking_line_id == row.id)
        .order_by(line_weighings.c.seq.desc())
    ).first()
    if last is None:
        return
    held = sum(one.count for one in held_by(act.conn, row.id))
    act.conn.execute(
        insert(line_weighings).values(
            booking_line_id=row.id, weighed=held, unit=last.unit, short=last.short,
            reason=last.reason, why="after work", at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
