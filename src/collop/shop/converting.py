"""Stock of the case that becomes something else: trim for the grinder, or another line.

Weight is taken from the stock whose day comes first. What the scale says is what there is: the rest
of the weight that was taken is bone, or loss, by where it is told to have gone.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from sqlalchemy import insert, select

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.freezer_words import is_freezer_line
from collop.shop.ledger import Pick, move, pass_on
from collop.shop.lots import NewLot, link, make_lot, next_name
from collop.shop.made_of import apportion
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots, pieces
from collop.shop.thawed_lines import thawed_lines

__all__ = [
    "BONE_IN", "CONVERTED", "RESTS", "TO_TRIM", "Taken", "child_of", "convert", "kept_of",
    "line_row", "may_be_trim", "rework", "take_free", "to_trim",
]  # fmt: skip

CONVERTED = "converted"
TO_TRIM = "to the trim bin"
#: With less boneless meat than this a line is boned on its way to the trim bin, and what comes of
#: it is weighed: a figure of ours.
BONE_IN = Decimal("0.9")
#: Where what is not kept may go.
RESTS = ("bone", "trim", "fat", "drip")


@dataclass(frozen=True, slots=True)
class Taken:
    """What is taken of one lot."""

    lot: AnyRow
    picks: tuple[Pick, ...]

    @property
    def count(self) -> int:
        """Return its weight in counts."""
        return sum(pick.count for pick in self.picks)


def line_row(act: Act, case_id: str) -> AnyRow:
    """Return a case line's row, or raise `NotFound`."""
    row = act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if row is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    return row


def _free(act: Act, case_id: str) -> list[tuple[AnyRow, Pick]]:
    """Return the unpromised stock of a line, soonest day first."""
    sums = stock_sums(act.conn)
    rows = act.conn.execute(
        select(lots, sums.c.piece_id, sums.c.total)
        .join(sums, sums.c.lot_id == lots.c.id)
        .where(lots.c.case_id == case_id, sums.c.place == "case", sums.c.total > 0)
        .order_by(lots.c.use_by.is_(None), lots.c.use_by, lots.c.since, lots.c.id, sums.c.piece_id)
    )
    return [(row, Pick(row.id, int(row.total), row.unit, row.piece_id)) for row in rows]


def take_free(
    act: Act, line: AnyRow, weight: Weight, *, may: Callable[[date | None], bool],
    pieces_of: Sequence[Weight] = (),
) -> tuple[Taken, ...]:  # fmt: skip
    """Return what is taken of a line's free stock: so much, soonest day first.

    Parameters
    ----------
    act : Act
        The write.
    line : row of ``case_lines``
        The line.
    weight : Weight
        How much; of goods sold by the piece, whole pieces.
    may : callable
        Whether stock with this last day may be taken.
    pieces_of : sequence of Weight
        Names the pieces of goods sold whole; left out, `weight` must be that of whole pieces.

    Raises
    ------
    BadValue
        If it is nothing.
    NotEnoughFree
        If less than that may be taken, or it is no sum of whole pieces.
    """
    if weight.count <= 0:
        raise BadValue("Weight: put on the scale what is to be moved.", where="weight")
    there = [(row, pick) for row, pick in _free(act, line.id) if may(row.use_by)]
    picks = _picked([pick for _, pick in there], [one.count for one in pieces_of] or [weight.count])
    if sum(pick.count for pick in picks) != weight.count:
        raise NotEnoughFree(_too_little(line, there, weight), where="weight")
    rows = {row.id: row for row, _ in there}
    by_lot: dict[str, list[Pick]] = {}
    for pick in picks:
        by_lot.setdefault(pick.lot_id, []).append(pick)
    return tuple(Taken(rows[lot_id], tuple(found)) for lot_id, found in by_lot.items())


def _picked(picks: list[Pick], wanted: list[int]) -> list[Pick]:
    """Return picks of each wanted weight; a whole piece is taken whole or not at all."""
    left, taken = list(picks), []
    for want in wanted:
        count = want
        same = next((one for one in left if one.piece_id is not None and one.count == want), None)
        for pick in [same] if same else list(left):
            part = min(pick.count, count)
            if part and (pick.piece_id is None or part == pick.count):
                left.remove(pick)
                if part < pick.count:
                    left.insert(0, replace(pick, count=pick.count - part))
                taken.append(replace(pick, count=part))
                count -= part
    return taken


def _too_little(line: AnyRow, there: Sequence[tuple[AnyRow, Pick]], weight: Weight) -> str:
    free = Weight(sum(pick.count for _, pick in there), weight.unit)
    sizes = ", ".join(
        Weight(pick.count, weight.unit).text() for _, pick in there[:6] if pick.piece_id is not None
    )
    said = f", in pieces of {sizes}" if sizes else ""
    return (
        f"{free.text()} of {line.name} may be moved so{said}, not {weight.text()}: count the line,"
        " or move less."
    )


def rework(
    act: Act, taken: Taken, kept: int, *, rest: str, reason: str, into: NewLot,
    place: str = "case", parts: Sequence[Weight] = (),
) -> str:  # fmt: skip
    """Take weight of a lot to the block and put what is kept of it away as a new lot.

    Parameters
    ----------
    act : Act
        The write.
    taken : Taken
        What is taken from the case.
    kept : int
        What the scale says of it after the work, in counts.
    rest : str
        Where the rest goes: one of `RESTS`.
    reason : str
        Of the moves.
    into : NewLot
        The new lot; its id and weight are found here.
    place : str
        Where what is kept goes.
    parts : sequence of Weight
        Weights of its whole pieces, if it is sold so; together `kept`.

    Returns
    -------
    str
        The id of the new lot.
    """
    unit = WeightUnit(taken.lot.unit)
    child = replace(into, id=next_name(act.conn, taken.lot.id), weight=Weight(taken.count, unit))
    make_lot(act, child)
    for given in taken.picks:
        put = Pick(child.id, given.count, given.unit)
        move_id = pass_on(act, given, put, ("case", "block"), reason)
        link(act, move_id, taken.lot.id, child.id, given.count)
    loose = Pick(child.id, kept, unit.value)
    move(act, [replace(loose, count=taken.count - kept)], ("block", rest), reason)
    if not parts:
        move(act, [loose], ("block", place), reason)
    for part in parts:
        row = {"lot_id": child.id, "weight": part.count, "unit": part.unit.value}
        key = act.conn.execute(insert(pieces).values(row)).inserted_primary_key
        assert key is not None
        one = Pick(child.id, part.count, unit.value)
        pass_on(act, one, replace(one, piece_id=int(key[0])), ("block", place), reason)
    return child.id


def kept_of(taken: Sequence[Taken], gives: Weight | None) -> list[int]:
    """Split what the scale says after the work over the lots it was taken from.

    Raises
    ------
    BadValue
        If it is nothing, or more than was taken.
    """
    whole = sum(one.count for one in taken)
    kept = whole if gives is None else gives.count
    if not 0 < kept <= whole:
        unit = Weight.zero().unit if gives is None else gives.unit
        raise BadValue(
            f"After the work: {Weight(kept, unit).text()} cannot come of"
            f" {Weight(whole, unit).text()}; weigh both again.",
            where="gives",
        )
    return apportion(kept, [one.count for one in taken])


def may_be_trim(line: AnyRow, thawed: Collection[str] = ()) -> str:
    """Return why a line cannot go to the trim bin of its species; empty if it can.

    `thawed` are the lines whose label says that they were frozen before.
    """
    words = line.name.casefold()
    if line.species == "none" or line.form != "fresh" or "thaw" in words or line.id in thawed:
        return f"{line.name} is no fresh meat that never was frozen, so it is not ground."
    if line.contains or line.casing is not None or "link" in words:
        return f"{line.name} has more in it than plain meat, so it does not go to the trim bin."
    if line.cook_as == "ground" or "mince" in words or "ground" in words:
        return (
            f"{line.name} is ground already: put it into a new lot from the case, on the mince"
            " page, where its record goes with it."
        )
    if not Decimal(line.boneless_fraction):
        return f"{line.name} has no meat on it to grind."
    return ""


def in_date(act: Act) -> Callable[[date | None], bool]:
    """Return what tells whether stock may still be used today."""
    today = act.at.date()
    return lambda last: last is None or last >= today


def to_trim(
    act: Act, case_id: str, weight: Weight, *, gives: Weight | None = None, rest: str = "",
    pieces_of: Sequence[Weight] = (),
) -> tuple[str, ...]:  # fmt: skip
    """Move stock of a line to the trim bin of its species; return the lots that lie there now.

    Plain loose stock keeps its lot, so that a mince lot takes it with its whole record. Goods sold
    by the piece, and what is boned on the way, become a lot of their own below it.

    Raises
    ------
    WrongState
        If such a line does not go to the trim bin.
    BadValue, NotEnoughFree
        See `take_free` and `kept_of`.
    """
    line = line_row(act, case_id)
    no = may_be_trim(line, thawed_lines(act.conn))
    if no:
        raise WrongState(no, where="do")
    if gives is None and Decimal(line.boneless_fraction) < BONE_IN:
        raise BadValue(f"After the work: {line.name} goes to the trim bin without its bone; weigh"
                       " the meat.", where="gives")  # fmt: skip
    taken = take_free(act, line, weight, may=in_date(act), pieces_of=pieces_of)
    found = []
    for one, kept in zip(taken, kept_of(taken, gives), strict=True):
        whole = kept == one.count and all(pick.piece_id is None for pick in one.picks)
        if whole:
            move(act, one.picks, ("case", "trim"), TO_TRIM)
            found.append(one.lot.id)
            continue
        new = child_of(one.lot, line, f"trim of {line.name}"[:120], case_id=None,
                     use_by=one.lot.use_by)  # fmt: skip
        found.append(rework(act, one, kept, rest=_rest(line, rest), reason=TO_TRIM, into=new,
                            place="trim"))  # fmt: skip
    return tuple(found)


def child_of(
    lot: AnyRow, line: AnyRow, what: str, *, case_id: str | None, use_by: date | None
) -> NewLot:
    """Return a lot made of another: as old as it, of the same animal."""
    return NewLot(
        id="", kind="cut", species=line.species, what=what, weight=Weight.zero(), since=lot.since,
        farm=lot.farm, case_id=case_id, use_by=use_by, delivery_number=lot.delivery_number,
    )  # fmt: skip


def _rest(line: AnyRow, rest: str) -> str:
    if not rest:
        return "bone" if Decimal(line.boneless_fraction) < BONE_IN else "drip"
    if rest not in RESTS:
        raise BadValue(f"The rest: choose where it goes, one of {', '.join(RESTS)}.", where="rest")
    return rest


def convert(
    act: Act, case_id: str, weight: Weight, into_case: str, *, gives: Weight | None = None,
    rest: str = "", pieces_of: Sequence[Weight] = (), parts: Sequence[Weight] = (),
) -> tuple[str, ...]:  # fmt: skip
    """Turn stock of a line into another line of its kind; return the new lots.

    The new lots are to be used by the day of what they are made of, or sooner if the new line keeps
    less.

    Raises
    ------
    BadValue
        If the other line is of another species, declares less, or is mince.
    """
    line, other = line_row(act, case_id), line_row(act, into_case)
    _may_become(line, other, thawed_lines(act.conn))
    taken = take_free(act, line, weight, may=in_date(act), pieces_of=pieces_of)
    shares = kept_of(taken, gives)
    if other.by_piece:
        parts = parts or ((gives or weight),)
        if len(taken) > 1 or sum(part.count for part in parts) != sum(shares):
            raise BadValue(f"{other.name} is sold by the whole piece: give the weight of each piece"
                           " of one lot, like 4.1 + 4.2.", where="gives")  # fmt: skip
    found = []
    for one, kept in zip(taken, shares, strict=True):
        new = child_of(one.lot, other, other.name, case_id=other.id,
                     use_by=sooner(act, one.lot.use_by, other.keeps_days))  # fmt: skip
        found.append(rework(act, one, kept, rest=_rest(line, rest), reason=CONVERTED, into=new,
                            parts=parts if other.by_piece else ()))  # fmt: skip
    return tuple(found)


def sooner(act: Act, last: date | None, keeps_days: int | None) -> date | None:
    """Return the last day of what is made today: never beyond that of what it is made of."""
    if keeps_days is None:
        return last
    day = act.at.date() + timedelta(days=int(keeps_days))
    return day if last is None else min(day, last)


def _may_become(line: AnyRow, other: AnyRow, thawed: Collection[str]) -> None:
    """See that a line may become another one."""
    no = ""
    if line.id == other.id:
        no = f"{line.name} is that line already; choose another."
    elif is_freezer_line(other.name):
        no = f"{other.name} holds packs of freezer orders only; choose another line."
    elif line.species != other.species:
        no = f"{line.name} is {line.species}, and {other.name} is {other.species}."
    elif (line.form == "frozen") != (other.form == "frozen"):
        no = f"{other.name} is {other.form} and {line.name} is {line.form}; freeze it instead."
    elif line.id in thawed and other.id not in thawed:
        no = f"{line.name} was frozen before, and the label of {other.name} does not say so."
    elif other.cook_as == "ground" and line.cook_as != "ground":
        no = f"{other.name} is ground: send it to the trim bin and begin a mince lot with it."
    elif any(one not in other.contains for one in line.contains) or (
        line.casing is not None and line.casing != other.casing
    ):
        no = f"{other.name} does not declare all that is in {line.name}; choose another line."
    elif line.cook_as == "ground" and other.cook_as != "ground":
        no = f"{line.name} is ground, and {other.name} is cooked as {other.cook_as}."
    if no:
        raise BadValue(no, where="into")
