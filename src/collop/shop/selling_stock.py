"""Which stock a sale at the glass takes: oldest first, pieces whole, never more than is free."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from collop.errors import BadValue, NotEnoughFree, WrongState
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.case import load_case
from collop.shop.ledger import Pick, free_lots
from collop.shop.lots import lot_row
from collop.shop.picking import piece_text

__all__ = ["FreeStock", "Wish"]

# a whole bird that weighs a quarter more or less than its ticket is another bird, or a tare
_PIECE_TOLERANCE = Fraction(1, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One line to be sold, with its price: that of the board, or of its ticket."""

    case_id: str
    name: str
    by_piece: bool
    net: Weight
    price: UnitPrice
    pieces: tuple[Weight, ...] | None = None
    lot: str | None = None
    ticket: str | None = None
    where: str = ""


@dataclass(slots=True)
class FreeStock:
    """The free stock of the lines of one sale; what one line takes is gone for the next.

    Parameters
    ----------
    act : Act
        Its connection, time and settings; nothing is written.
    """

    act: Act
    _left: dict[str, list[Pick]] = field(default_factory=dict)

    def take(self, wish: Wish) -> list[Pick]:
        """Return what a line takes.

        Raises
        ------
        NotEnoughFree
            If it is more than is free; the message says what is free and what is booked.
        WrongState
            If all that is left, or the lot of the ticket, is past its use-by.
        BadValue
            If goods sold whole are asked by no weight of a piece, or the reverse.
        """
        if wish.pieces is not None and not wish.by_piece:
            raise BadValue(f"{wish.name} is sold by weight; leave the pieces out.",
                           where=wish.where)  # fmt: skip
        free = [one for one in self._free(wish) if wish.lot is None or one.lot_id == wish.lot]
        picks = self._whole(wish, free) if wish.by_piece else self._by_weight(wish, free)
        self._let_go(wish.case_id, picks)
        return picks

    def _free(self, wish: Wish) -> list[Pick]:
        if wish.case_id not in self._left:
            found: list[Pick] = []
            for lot in free_lots(self.act.conn, wish.case_id, self.act.at.date()):
                whole = Pick(lot.id, lot.count, lot.unit)
                found += lot.pieces if wish.by_piece else (whole,)
            self._left[wish.case_id] = found
        return self._left[wish.case_id]

    def _let_go(self, case_id: str, picks: list[Pick]) -> None:
        taken = {(one.lot_id, one.piece_id): one.count for one in picks}
        rest = []
        for one in self._left[case_id]:
            count = one.count - taken.get((one.lot_id, one.piece_id), 0)
            if count:
                rest.append(replace(one, count=count))
        self._left[case_id] = rest

    def _by_weight(self, wish: Wish, free: list[Pick]) -> list[Pick]:
        picked, count = [], wish.net.count
        for one in free:
            part = min(one.count, count)
            if part:
                picked.append(replace(one, count=part))
                count -= part
        if count:
            raise self._refusal(wish, free, wish.net.text(self.act.settings.legal_unit))
        return picked

    def _whole(self, wish: Wish, free: list[Pick]) -> list[Pick]:
        if wish.pieces is not None:
            picked = _named(free, wish.pieces)
            if picked is None:
                asked = ", ".join(piece_text(one) for one in wish.pieces)
                raise self._refusal(wish, free, f"{asked} lb")
        else:
            picked = _run(free, wish.net.count) or _nearest(free, wish.net.count)
            if not picked:
                raise self._refusal(wish, free, wish.net.text(self.act.settings.legal_unit))
        marked = sum(one.count for one in picked)
        if abs(Fraction(wish.net.count - marked)) > _PIECE_TOLERANCE * marked:
            raise BadValue(
                f"{wish.name} is sold whole: {Weight(marked).text()} is the weight of"
                f" {len(picked)} and the scale says {wish.net.text()}; weigh again, or choose"
                " the pieces.",
                where=wish.where,
            )
        return picked

    def _refusal(self, wish: Wish, free: list[Pick], asked: str) -> NotEnoughFree | WrongState:
        """Return why there is not so much: past its day, booked, or not there."""
        act, unit = self.act, self.act.settings.legal_unit
        line = next(
            one for one in load_case(act.conn, act.at, act.settings) if one.id == wish.case_id
        )
        if wish.lot is not None:
            return self._of_lot(wish, free, asked)
        left = Weight(sum(one.count for one in free))
        if not left and line.past:
            return WrongState(
                f"{wish.name}: what is left, {line.past.text(unit)}, is past its use-by; do not"
                " sell it.",
                where=wish.where,
            )
        booked = f"; {line.booked.text(unit)} is booked" if line.booked else ""
        there = _counted(free, unit) if left else "nothing"
        return NotEnoughFree(
            f"{wish.name}: {there} is free and {asked} lies on the scale{booked}; sell less, or"
            " take it from another cut.",
            where=wish.where,
        )

    def _of_lot(self, wish: Wish, free: list[Pick], asked: str) -> NotEnoughFree | WrongState:
        assert wish.lot is not None
        use_by = lot_row(self.act.conn, wish.lot).use_by
        told = wish.ticket or wish.lot
        if use_by is not None and use_by < self.act.at.date():
            return WrongState(
                f"{told} is of lot {wish.lot}, to be used by {use_by}: do not sell it.",
                where=wish.where,
            )
        left = Weight(sum(one.count for one in free)).text(self.act.settings.legal_unit)
        return NotEnoughFree(
            f"{told} is of lot {wish.lot}: {left} of it is free and {asked} was asked; look at"
            " what the lot is held for.",
            where=wish.where,
        )


def _counted(free: list[Pick], unit: WeightUnit) -> str:
    pieces = [one for one in free if one.piece_id is not None]
    if not pieces:
        return Weight(sum(one.count for one in free)).text(unit)
    weights = ", ".join(piece_text(Weight(one.count)) for one in pieces)
    return f"{len(pieces)} piece{'s' if len(pieces) > 1 else ''} ({weights} lb)"


def _named(free: list[Pick], wanted: tuple[Weight, ...]) -> list[Pick] | None:
    left, picked = list(free), []
    for weight in wanted:
        match = next((one for one in left if piece_text(Weight(one.count)) == piece_text(weight)),
                     None)  # fmt: skip
        if match is None:
            return None
        left.remove(match)
        picked.append(match)
    return picked


def _run(free: list[Pick], count: int) -> list[Pick]:
    """Return the oldest pieces that weigh exactly so much; nothing if no run of them does."""
    picked: list[Pick] = []
    for one in free:
        if sum(got.count for got in picked) >= count:
            break
        picked.append(one)
    return picked if sum(got.count for got in picked) == count else []


def _nearest(free: list[Pick], count: int) -> list[Pick]:
    """Return the one piece whose ticket weight is nearest, the oldest of equals."""
    return sorted(free, key=lambda one: abs(one.count - count))[:1]
