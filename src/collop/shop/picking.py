"""Choosing which free weight or pieces answer a wish; never more than is free."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from sqlalchemy import select

from collop.errors import BadValue, NotEnoughFree, NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.ledger import FreeLot, Pick, free_lots
from collop.shop.tables import case_lines

__all__ = ["PIECE_TOLERANCE", "pick", "piece_text"]

#: A whole bird that weighs a quarter more or less than its ticket is another bird, or a tare.
PIECE_TOLERANCE = Fraction(1, 4)


def piece_text(weight: Weight) -> str:
    """Return a piece's weight in pounds: two decimals, three where it needs them.

    Examples
    --------
    >>> piece_text(Weight.of("4.1", WeightUnit.LB)), piece_text(Weight.of("4.125", WeightUnit.LB))
    ('4.10', '4.125')
    """
    exact = weight.exact(WeightUnit.LB)
    places = 2 if (exact * 100).denominator == 1 else 3
    return str(weight.decimal(WeightUnit.LB, places))


def _by_weight(free: list[FreeLot], count: int) -> list[Pick] | None:
    picked = []
    for lot in free:
        part = min(lot.count, count)
        if part > 0:
            picked.append(Pick(lot.id, part, lot.unit))
            count -= part
    return None if count else picked


def _by_piece(free: list[FreeLot], wanted: tuple[Weight, ...]) -> list[Pick] | None:
    left = [piece for lot in free for piece in lot.pieces]
    picked = []
    for weight in wanted:
        text = piece_text(weight)
        match = next((one for one in left if piece_text(Weight(one.count)) == text), None)
        if match is None:
            return None
        left.remove(match)
        picked.append(match)
    return picked


def _whole_pieces(free: list[FreeLot], weight: Weight) -> tuple[Weight, ...] | None:
    """Return the oldest pieces that make up `weight`, or None if no run of them does."""
    picked: list[Weight] = []
    for piece in (piece for lot in free for piece in lot.pieces):
        if sum(one.count for one in picked) >= weight.count:
            break
        picked.append(Weight(piece.count))
    return tuple(picked) if sum(one.count for one in picked) == weight.count else None


def _counted(pieces: tuple[Weight, ...]) -> str:
    kinds = list(dict.fromkeys(piece_text(piece) for piece in pieces))
    each = f"of {kinds[0]} lb" if len(kinds) == 1 else f"({', '.join(kinds)} lb)"
    return f"{len(pieces)} piece{'s' if len(pieces) > 1 else ''} {each}"


def _not_enough(name: str, free: list[FreeLot], asked: str, unit: WeightUnit) -> NotEnoughFree:
    pieces = tuple(Weight(piece.count) for lot in free for piece in lot.pieces)
    total = Weight(sum(lot.count for lot in free))
    if not total:
        return NotEnoughFree(
            f"Nothing of {name} is free, and {asked} was asked; choose another cut."
        )
    left = _counted(pieces) if pieces else total.text(unit)
    return NotEnoughFree(f"Only {left} of {name} is free, and {asked} was asked; take less.")


def pick(
    act: Act, case_id: str, weight: Weight, pieces: tuple[Weight, ...] | None, *,
    keeps_until: date | None = None,
) -> list[Pick]:  # fmt: skip
    """Return free weight or pieces of a case line, oldest first.

    Nothing past its day is taken, nor what does not keep until `keeps_until`.

    Raises
    ------
    NotFound
        If there is no such case line.
    BadValue
        If goods sold whole are asked by a weight no whole pieces make up, or the reverse.
    NotEnoughFree
        If more is asked than is free; the message says how much is free and of what.
    """
    line = act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if line is None:
        raise NotFound(f"There is no case line {case_id!r}; look at the case again.", where=case_id)
    free = free_lots(act.conn, case_id, keeps_until or act.at.date())
    unit, name = act.settings.legal_unit, f"{line.name} ({case_id})"
    if not line.by_piece:
        if pieces is not None:
            raise BadValue(f"{name} is sold by weight; leave the pieces out.", where=case_id)
        picked = _by_weight(free, weight.count)
        if picked is None:
            raise _not_enough(name, free, weight.text(unit), unit)
        return picked
    return _pick_pieces(name, free, weight, pieces, unit=unit)


def _pick_pieces(
    name: str,
    free: list[FreeLot],
    weight: Weight,
    pieces: tuple[Weight, ...] | None,
    *,
    unit: WeightUnit,
) -> list[Pick]:
    if pieces is None:
        if weight.count > sum(lot.count for lot in free):
            raise _not_enough(name, free, weight.text(unit), unit)
        pieces = _whole_pieces(free, weight)
        if pieces is None:
            raise BadValue(
                f"{name} is sold by the whole piece and {weight.text(unit)} is no whole number of"
                " them; name the pieces.",
                where=name,
            )
    elif abs(sum(piece.count for piece in pieces) - weight.count) > Weight.of(
        "0.01", WeightUnit.LB
    ).count * len(pieces):
        raise BadValue(
            f"The pieces of {name} do not add up to {weight.text(unit)}; correct the weight.",
            where=name,
        )
    picked = _by_piece(free, pieces)
    if picked is None:
        raise _not_enough(name, free, _counted(pieces), unit)
    return picked
