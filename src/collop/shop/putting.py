"""Weight that moves by itself: into the case, into the bin, and what a count says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy import insert, select

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.knife_tables import breaks, stock_counts
from collop.shop.ledger import Pick, find_more, move
from collop.shop.lots import CUT, NewLot, at_place, cut_from, lot_row, next_name, read_unit
from collop.shop.stock import HELD, stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots

__all__ = ["bin_some", "count_case", "count_lot", "put_in_case"]

_COUNTED = "counted"
_MOST = Weight.of(100_000, WeightUnit.LB)
_TO_CASE = ("block", "trim", "bone", "rail")


def _not_under_the_knife(act: Act, lot_id: str, place: str) -> None:
    """See that it is no piece of an open break: what leaves that goes over the scale as a part."""
    if place != "block":
        return
    query = select(breaks.c.number).where(breaks.c.lot_id == lot_id)
    if act.conn.execute(query).first() is not None:
        raise WrongState(f"{lot_id} is under the knife; weigh its parts and close it instead.")


def _checked_count(counted: Weight) -> None:
    if not Weight.zero() <= counted < _MOST:
        raise BadValue(f"A count is zero or more, and under {_MOST.text()}.", where="counted")


def _some(picks: Iterable[Pick], count: int) -> list[Pick]:
    """Return picks of `count` altogether; a whole piece is taken whole or not at all."""
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
        raise NotEnoughFree(
            f"{Weight(there, unit).text()} of {lot_id} is free at {place}, not"
            f" {Weight(wanted, unit).text()}.",
            where=lot_id,
        )
    return row, taken


def _use_by(act: Act, line: AnyRow, row: AnyRow, keeps_days: int | None) -> date | None:
    days = line.keeps_days if keeps_days is None else keeps_days
    last: date | None = row.use_by
    if days is None:
        return last
    day = act.at.date() + timedelta(days=days)
    return day if last is None else min(day, last)


def put_in_case(
    act: Act, lot_id: str, place: str, case_id: str, *, weight: Weight | None = None,
    keeps_days: int | None = None,
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
    if line.species not in {row.species, "none"}:
        raise BadValue(f"{lot_id} is {row.species}, and {line.name} is {line.species}.",
                       where="case_id")  # fmt: skip
    count = sum(pick.count for pick in taken)
    child = NewLot(
        id=next_name(act.conn, lot_id), kind="cut", species=row.species, what=line.name,
        weight=Weight(count, read_unit(row)), since=act.at, farm=row.farm, case_id=case_id,
        use_by=_use_by(act, line, row, keeps_days), delivery_number=row.delivery_number,
        parts=(Weight(count, read_unit(row)),) if line.by_piece else (),
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
    move(act, taken, (place, "bin"), why[:40])


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


def count_case(act: Act, case_id: str, counted: Weight, why: str) -> int:
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
        move(act, taken, ("case", "drip"), _COUNTED)
    return _note(act, "case", case_id=case_id, lot_id=None, expected=expected, counted=counted,
                 why=why)  # fmt: skip


def _found_in_case(act: Act, stock: list[tuple[str, str, Pick]], gap: int, name: str) -> None:
    if not stock:
        raise WrongState(f"Nothing of {name} was ever put in the case; put it in from its lot.")
    newest = stock[-1][2]
    find_more(act, Pick(newest.lot_id, gap, newest.unit), "case")


def count_lot(act: Act, lot_id: str, place: str, counted: Weight, why: str) -> int:
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
    if gap > 0:
        if not expected:
            raise WrongState(f"Nothing of {lot_id} is at {place}; move it there first.")
        find_more(act, Pick(lot_id, gap, row.unit), place)
    elif gap < 0:
        move(act, _some(picks, -gap), (place, "drip"), _COUNTED)
    return _note(act, place, case_id=None, lot_id=lot_id, expected=expected, counted=counted,
                 why=why)  # fmt: skip
