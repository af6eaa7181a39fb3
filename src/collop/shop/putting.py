"""Weight that moves by itself: into the case, into the bin, and what a count says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy import insert, select

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.day_tables import makings
from collop.shop.knife_tables import breaks, stock_counts
from collop.shop.ledger import Pick, find_more, move
from collop.shop.lots import CUT, NewLot, at_place, cut_from, lot_row, next_name, read_unit
from collop.shop.stock import HELD, stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots

__all__ = ["COUNTED", "bin_some", "count_case", "count_lot", "put_in_case"]

#: Reason of the move that a gap makes.
COUNTED = "counted"
_MOST = Weight.of(100_000, WeightUnit.LB)
_TO_CASE = ("block", "trim", "bone")
_MOST_DAYS = 730
# gaps up to this are never asked about
_MUCH = Weight.of(3, WeightUnit.LB)


def _not_under_the_knife(act: Act, lot_id: str, place: str) -> None:
    """See that it is no piece of a break and no mince: what leaves these goes over the scale."""
    if place != "block":
        return
    query = select(breaks.c.number).where(breaks.c.lot_id == lot_id)
    if act.conn.execute(query).first() is not None:
        raise WrongState(f"{lot_id} goes over the knife; weigh its parts on the Knife page.")
    made = select(makings.c.number).where(makings.c.lot_id == lot_id)
    if act.conn.execute(made).first() is not None:
        raise WrongState(f"{lot_id} is mince or a batch; weigh it out in the Day Book.")


def _likely_count(expected: int, counted: Weight, what: str) -> None:
    """See that a count is not far off: a unit or a point may be wrong."""
    gap = abs(counted.count - expected)
    if gap > _MUCH.count and gap * 4 > expected:
        was = Weight(expected, counted.unit).text()
        raise BadValue(
            f"{was} of {what} should be there and {counted.text()} is counted: count again, or say"
            " that it is right.",
            where="sure",
        )


def _checked_count(counted: Weight) -> None:
    if not Weight.zero() <= counted < _MOST:
        raise BadValue(f"A count is zero or more, and under {_MOST.text()}.", where="counted")


def _some(picks: Iterable[Pick], count: int) -> list[Pick]:
    """Return picks of `count` altogether; a whole piece is taken whole or not at all."""
    picks = list(picks)
    for pick in picks:
        if pick.piece_id is not None and pick.count == count:
            return [pick]
    taken = []
    for pick in picks:
        part = min(pick.count, count)
        if part and (pick.piece_id is None or part == pick.count):
            taken.append(replace(pick, count=part))
            count -= part
    return taken


def _of_lot(act: Act, lot_id: str, place: str, weight: Weight | None) -> tuple[AnyRow, list[Pick]]:
    row = lot_row(act.conn, lot_id)
    _not_under_the_knife(act, lot_id, place)
    picks = at_place(act.conn, lot_id, place)
    there = sum(pick.count for pick in picks)
    wanted = there if weight is None else weight.count
    if wanted <= 0:
        raise BadValue(f"There is nothing of {lot_id} at {place} to move.", where="weight")
    taken = _some(picks, wanted)
    if sum(pick.count for pick in taken) != wanted:
        unit = read_unit(row)
        whole = [pick for pick in picks if pick.piece_id is not None]
        sizes = ", ".join(Weight(pick.count, unit).text() for pick in whole[:6])
        raise NotEnoughFree(
            f"{Weight(there, unit).text()} of {lot_id} is free at {place}, not"
            f" {Weight(wanted, unit).text()}{f', in pieces of {sizes}' if whole else ''}.",
            where=lot_id,
        )
    return row, taken


def _use_by(act: Act, line: AnyRow, row: AnyRow, keeps_days: int | None) -> date | None:
    """Return the last day of what is put in the case.

    What waits with a day of its own keeps the line's days from now, never beyond that day. What
    has none keeps them from the day it was cut.
    """
    last: date | None = row.use_by
    if last is not None and last < act.at.date():
        raise WrongState(f"{row.id} was to be used by {last}: bin it.")
    days = line.keeps_days if keeps_days is None else keeps_days
    if days is None:
        return last
    if not 0 <= days <= _MOST_DAYS:
        raise BadValue(f"Days it keeps are from 0 to {_MOST_DAYS}.", where="keeps_days")
    start = act.at.date() if last is not None else row.since.date()
    day: date = start + timedelta(days=days)
    if day < act.at.date():
        raise WrongState(
            f"{row.id} was cut on {row.since:%d %b} and {line.name} keeps {days} days: bin it."
        )
    return day if last is None else min(day, last)


def _parts(line: AnyRow, count: int, row: AnyRow, pieces: Sequence[Weight]) -> tuple[Weight, ...]:
    if line.by_piece and not pieces:
        raise BadValue(
            f"{line.name} is sold by the whole piece; give the weight of each, like 4.1 + 4.2.",
            where="weight",
        )
    if pieces and sum(piece.count for piece in pieces) != count:
        whole = Weight(count, read_unit(row)).text()
        raise BadValue(f"The pieces do not add up to {whole}.", where="weight")
    return tuple(pieces) if line.by_piece else ()


def put_in_case(
    act: Act, lot_id: str, place: str, case_id: str, *, weight: Weight | None = None,
    keeps_days: int | None = None, pieces: Sequence[Weight] = (),
) -> str:  # fmt: skip
    """Put what waits on the block, in a trim or bone bin, on a case line; return the new lot.

    Raises
    ------
    NotFound
        If there is no such case line.
    BadValue
        If it cannot be put in the case from there, or is another species.
    NotEnoughFree
        If less than that is there.
    """
    if place not in _TO_CASE:
        raise BadValue(f"Nothing is put in the case from {place}.", where="place")
    line = act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if line is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}.", where="case_id")
    row, taken = _of_lot(act, lot_id, place, weight)
    if line.form == "frozen":
        raise BadValue(
            f"{line.name} is frozen stock; fresh meat is not put there.", where="case_id"
        )
    if line.species != row.species:
        raise BadValue(f"{lot_id} is {row.species}, and {line.name} is {line.species}.",
                       where="case_id")  # fmt: skip
    count = sum(pick.count for pick in taken)
    # it stays as old as it is: made on the day it was cut
    child = NewLot(
        id=next_name(act.conn, lot_id), kind="cut", species=row.species, what=line.name,
        weight=Weight(count, read_unit(row)), since=row.since, farm=row.farm, case_id=case_id,
        use_by=_use_by(act, line, row, keeps_days), delivery_number=row.delivery_number,
        parts=_parts(line, count, row, pieces),
    )  # fmt: skip
    cut_from(act, lot_id, (place, "case"), child, CUT)
    return child.id


def bin_some(act: Act, lot_id: str, place: str, weight: Weight | None, why: str) -> None:
    """Bin weight that is free at a place; what is promised must be released first.

    Raises
    ------
    BadValue
        If no reason is given, or nothing is binned from there.
    NotEnoughFree
        If less than that is free there.
    """
    if not why.strip():
        raise BadValue("Say why it is binned; a word or two will do.", where="why")
    if place not in HELD or place == "booked":
        raise BadValue(f"Nothing is binned from {place}.", where="place")
    _, taken = _of_lot(act, lot_id, place, weight)
    move(act, taken, (place, "bin"), f"binned: {why}"[:40])


def _note(
    act: Act, place: str, *, case_id: str | None, lot_id: str | None, expected: int,
    counted: Weight, why: str,
) -> int:  # fmt: skip
    key = act.conn.execute(
        insert(stock_counts).values(
            case_id=case_id, lot_id=lot_id, place=place, expected=expected,
            counted=counted.count, unit=counted.unit.value, why=why[:200], at=act.at,
            by_id=act.by, key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _in_case(act: Act, case_id: str) -> list[tuple[str, str, Pick]]:
    sums = stock_sums(act.conn)
    rows = act.conn.execute(
        select(lots.c.id, lots.c.unit, sums.c.place, sums.c.piece_id, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(lots.c.case_id == case_id, sums.c.place.in_(("case", "booked")), sums.c.total > 0)
        .order_by(lots.c.use_by, lots.c.since, lots.c.id, sums.c.piece_id)
    )
    return [(row.id, row.place, Pick(row.id, int(row.total), row.unit, row.piece_id))
            for row in rows]  # fmt: skip


def count_case(act: Act, case_id: str, counted: Weight, why: str, *, sure: bool = False) -> int:
    """Count a case line, booked and free together; the gap is drip, or found by the scale.

    Raises
    ------
    NotEnoughFree
        If less is there than is promised.
    WrongState
        If more is there than in any lot of it, or it is sold by the piece.
    """
    line = act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if line is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}.", where="case_id")
    _checked_count(counted)
    stock = _in_case(act, case_id)
    expected = sum(pick.count for _, _, pick in stock)
    free = [pick for _, place, pick in stock if place == "case"]
    gap = counted.count - expected
    if not sure:
        _likely_count(expected, counted, line.name)
    if gap and line.by_piece:
        raise WrongState(f"{line.name} is sold by the whole piece: bin or book the pieces instead.")
    if gap > 0:
        _found_in_case(act, stock, gap, line.name)
    elif gap < 0:
        taken = _some(free, -gap)
        if sum(pick.count for pick in taken) != -gap:
            booked = Weight(expected - sum(pick.count for pick in free), counted.unit)
            raise NotEnoughFree(
                f"{booked.text()} of {line.name} is promised and {counted.text()} is there; release"
                " or replace a booking first.",
                where=case_id,
            )
        move(act, taken, ("case", "drip"), COUNTED)
    return _note(act, "case", case_id=case_id, lot_id=None, expected=expected, counted=counted,
                 why=why)  # fmt: skip


def _found_in_case(act: Act, stock: list[tuple[str, str, Pick]], gap: int, name: str) -> None:
    if not stock:
        raise WrongState(f"Nothing of {name} was ever put in the case; put it in from its lot.")
    newest = stock[-1][2]
    find_more(act, Pick(newest.lot_id, gap, newest.unit), "case")


def count_lot(
    act: Act, lot_id: str, place: str, counted: Weight, why: str, *, sure: bool = False
) -> int:
    """Count what one lot has at a place outside the case.

    Raises
    ------
    BadValue
        If the place is none of these, or the count is below zero.
    """
    if place not in HELD or place in {"case", "booked"}:
        raise BadValue(f"Count {place} by its case line.", where="place")
    _checked_count(counted)
    row = lot_row(act.conn, lot_id)
    _not_under_the_knife(act, lot_id, place)
    picks = at_place(act.conn, lot_id, place)
    expected = sum(pick.count for pick in picks)
    gap = counted.count - expected
    if not sure:
        _likely_count(expected, counted, lot_id)
    if gap > 0:
        if not expected:
            raise WrongState(f"Nothing of {lot_id} is at {place}; move it there first.")
        find_more(act, Pick(lot_id, gap, row.unit), place)
    elif gap < 0:
        move(act, _some(picks, -gap), (place, "drip"), COUNTED)
    return _note(act, place, case_id=None, lot_id=lot_id, expected=expected, counted=counted,
                 why=why)  # fmt: skip
