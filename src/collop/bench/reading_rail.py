"""What hangs, what is promised and what is decided already, read from JSON."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from collop.bench.problem import Booking, BookingLine, Claim, Cut, Kind, Lock, Piece
from collop.bench.reading_parts import (
    known,
    label,
    lines,
    money,
    name_of,
    share,
    weight,
    whole,
)
from collop.errors import BadValue, Contradiction
from collop.measures import decimal_of
from collop.wire import Reader

__all__ = [
    "MOST_BEFORE", "MOST_BOOKINGS", "MOST_CLAIMS", "MOST_LINES", "MOST_PIECES", "MOST_SHRINK",
    "read_before", "read_bookings", "read_locks", "read_rail",
]  # fmt: skip

MOST_PIECES, MOST_BOOKINGS, MOST_CLAIMS, MOST_LINES = 2000, 2000, 50, 50
#: Most that a piece may lose to air in a day, as a share.
MOST_SHRINK = "0.2"
#: Lighter than this a piece could shrink to nothing in the days of a plan.
LEAST_PIECE = "0.1"
MOST_BEFORE = 20_000
_KEYS = ("tag", "kind", "weight", "shrink_per_day", "from", "until", "must", "worth_left", "claims")
_CLAIM_KEYS = ("booking", "name", "weight", "due")
_LOCK_KEYS = ("tag", "style", "day")


def read_rail(top: Reader, kinds: Mapping[str, Kind], days: int) -> tuple[Piece, ...]:
    """Read ``rail``.

    Parameters
    ----------
    days : int
        How many days the plan has.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    seen: set[str] = set()
    found = [
        _piece(row, label(row, "tag", seen), kinds, days)
        for row in lines(top, "rail", _KEYS, MOST_PIECES)
    ]
    _no_tag_of_a_large_cut(top, seen)
    return tuple(found)


def _no_tag_of_a_large_cut(top: Reader, tags: set[str]) -> None:
    """Refuse a tag that reads like a large cut of another piece, "B-41H/beef sirloin"."""
    for at, row in enumerate(top.items("rail", [])):
        stem = row["tag"]
        while "/" in stem:
            stem = stem.rpartition("/")[0]
            if stem in tags:
                where = f"{top.where('rail')}[{at}].tag"
                raise BadValue(
                    f"{where} is {row['tag'][:40]!r}, which reads like a large cut of "
                    f"{stem[:40]!r}; write it without the slash.",
                    where=where,
                )


def _piece(row: Reader, tag: str, kinds: Mapping[str, Kind], days: int) -> Piece:
    first = whole(row, "from", 0, days - 1, 0)
    last = whole(row, "until", 0, days - 1, days - 1)
    if last < first:
        raise Contradiction(
            f"{row.where('until')} is day {last}, before `from`, day {first}; move one of them.",
            where=row.where("until"),
        )
    hangs = weight(row, "weight", least=LEAST_PIECE)
    return Piece(
        tag=tag,
        kind=known(row, "kind", kinds, "kind", "$.kinds"),
        weight=hangs,
        shrink_per_day=share(row, "shrink_per_day", "0", high=MOST_SHRINK),
        from_day=first,
        until_day=last,
        must=row.flag("must", default=False),
        worth_left=money(row, "worth_left", "0"),
        claims=_claims(row, hangs, days),
    )


def _claims(row: Reader, hangs: Fraction, days: int) -> tuple[Claim, ...]:
    found = tuple(
        Claim(
            booking=label(one, "booking"),
            name=name_of(one, "name", ""),
            weight=weight(one, "weight"),
            due=whole(one, "due", 0, days - 1),
        )
        for one in lines(row, "claims", _CLAIM_KEYS, MOST_CLAIMS)
    )
    total = sum((one.weight for one in found), Fraction(0))
    if total > hangs:
        raise Contradiction(
            f"{row.where('claims')} come to {decimal_of(total, 3)}, more than the "
            f"{decimal_of(hangs, 3)} that hangs; move a booking to another piece.",
            where=row.where("claims"),
        )
    return found


def read_bookings(top: Reader, cuts: Mapping[str, Cut], days: int) -> tuple[Booking, ...]:
    """Read ``bookings``; a line without a price has the board price of its cut.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    seen: set[str] = set()
    return tuple(
        Booking(
            id=label(row, "id", seen),
            name=name_of(row, "name", ""),
            due=whole(row, "due", 0, days - 1),
            lines=_booking_lines(row, cuts),
        )
        for row in lines(top, "bookings", ("id", "name", "due", "lines"), MOST_BOOKINGS)
    )


def _booking_lines(row: Reader, cuts: Mapping[str, Cut]) -> tuple[BookingLine, ...]:
    found: list[BookingLine] = []
    for one in lines(row, "lines", ("cut", "weight", "price"), MOST_LINES):
        cut = known(one, "cut", cuts, "cut", "$.cuts")
        price = money(one, "price") if one.has("price") else cuts[cut].price
        if not price:
            # what costs nothing to miss would never be kept
            raise one.fail("price", "is zero; give one, or leave it out for the board price.")
        found.append(BookingLine(cut=cut, weight=weight(one, "weight"), price=price))
    if not found:
        raise row.fail("lines", "is empty; give what is promised.")
    return tuple(found)


def read_locks(
    top: Reader, rail: tuple[Piece, ...], kinds: Mapping[str, Kind], days: int
) -> tuple[Lock, ...]:
    """Read ``locks``: a piece that hangs, a style of its kind and a day on which it may be broken.

    Neither style nor day is a piece that is kept; a style alone leaves the day open.

    Raises
    ------
    ProblemError
        With the path of the first bad value; also for a piece locked twice.
    """
    pieces = {one.tag: one for one in rail}
    seen: set[str] = set()
    found: list[Lock] = []
    for row in lines(top, "locks", _LOCK_KEYS, MOST_PIECES):
        tag = label(row, "tag", seen)
        if tag not in pieces:
            raise row.fail("tag", f"is {tag[:40]!r}, which does not hang; add it to $.rail.")
        found.append(_lock(row, pieces[tag], kinds, days))
    return tuple(found)


def _lock(row: Reader, piece: Piece, kinds: Mapping[str, Kind], days: int) -> Lock:
    day = whole(row, "day", 0, days - 1) if row.has("day") else None
    if not row.has("style"):
        if day is not None:
            raise row.fail("style", "is missing beside a day; name one, or leave both out.")
        if piece.must:
            raise Contradiction(
                f"{row.path} keeps a piece that must be broken; take the lock or `must` off.",
                where=row.path,
            )
        return Lock(piece.tag, None, None)
    style = label(row, "style")
    if style not in {one.id for one in kinds[piece.kind].styles}:
        raise row.fail(
            "style", f"is {style[:40]!r}, which is no style of {piece.kind[:40]!r}; name one."
        )
    if day is not None and not piece.from_day <= day <= piece.until_day:
        raise row.fail(
            "day",
            f"is {day}; this piece may be broken on days {piece.from_day} to {piece.until_day}.",
        )
    return Lock(piece.tag, style, day)


def read_before(top: Reader, days: int) -> tuple[Lock, ...]:
    """Read ``before``, the breaks of the last plan: a hint, so what no longer fits is no fault.

    Raises
    ------
    ProblemError
        With the path of the first value of the wrong kind.
    """
    return tuple(
        Lock(
            label(row, "tag"),
            label(row, "style") if row.has("style") else None,
            whole(row, "day", 0, days - 1) if row.has("day") else None,
        )
        for row in lines(top, "before", _LOCK_KEYS, MOST_BEFORE)
    )
