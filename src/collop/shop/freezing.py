"""Freezing what does not sell in time: on a frozen line of its own, while it is still in date.

What was frozen once is not frozen again, and nothing is frozen on its last day or after it. The
freezer is kept at 0 F or below (source id ``FSIS_STORE``, USDA FSIS, Basics for handling food
safely); how long the eating quality lasts there is a figure of ours.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import select

from collop.errors import BadValue, WrongState
from collop.measures import UnitPrice, Weight, decimal_of, minor_places
from collop.shop.acts import Act
from collop.shop.ageing import FREEZE_PRICE, load_view
from collop.shop.board import board_at
from collop.shop.case_new import NewCaseLine, add_case_line
from collop.shop.converting import Taken, child_of, kept_of, line_row, rework, take_free
from collop.shop.fire_cooks import load_cooks, set_cook
from collop.shop.freezer_words import is_freezer_line
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.shop.thawed_lines import thawed_lines
from collop.shop.ticket_facts import line_facts, set_facts

__all__ = ["FROZEN", "FROZEN_DAYS", "freeze", "frozen_line_of", "may_be_frozen"]

FROZEN = "frozen"
#: Days a frozen line keeps its eating quality, by how it is cooked: figures of ours (common
#: practice, no published source).
FROZEN_DAYS = {"whole": 180, "poultry": 180, "ground": 90}
_LONGEST_NAME = 120
_END = ", frozen"


def may_be_frozen(line: AnyRow, thawed: Collection[str] = ()) -> str:
    """Return why a line cannot be frozen; empty if it can.

    `thawed` are the lines whose label says that they were frozen before.
    """
    words = line.name.casefold()
    if line.form == "frozen" or "frozen" in words or "thaw" in words or line.id in thawed:
        return f"{line.name} was frozen before, and is not frozen again."
    if line.species == "none" or line.form != "fresh":
        return f"{line.name} is no raw meat; it is not frozen here."
    return ""


def frozen_line_of(act: Act, line: AnyRow) -> AnyRow | None:
    """Return the frozen line that stands for a line; None if there is none yet.

    It is the one of its name, or a frozen line of the same species, casing, contents and cooking
    rule whose neighbour it is.
    """
    rows = act.conn.execute(
        select(case_lines)
        .where(case_lines.c.form == "frozen", case_lines.c.species == line.species)
        .order_by(case_lines.c.position, case_lines.c.id)
    ).all()
    name = _name(line).casefold()
    same = [row for row in rows if row.name.casefold() == name and not _unlike(line, row)]
    kin = [row for row in rows if line.id == row.neighbour and not _unlike(line, row)]
    return next(iter([*same, *kin]), None)


def _name(line: AnyRow) -> str:
    return f"{line.name[: _LONGEST_NAME - len(_END)]}{_END}"


def _unlike(line: AnyRow, other: AnyRow) -> str:
    """Return why stock of a line may not lie on a frozen line; empty if it may."""
    if is_freezer_line(other.name):
        return f"{other.name} holds packs of freezer orders only; choose another line."
    if other.form != "frozen":
        return f"{other.name} is no frozen line; choose one that is."
    if other.species != line.species:
        return f"{line.name} is {line.species}, and {other.name} is {other.species}."
    if list(other.contains) != list(line.contains) or other.casing != line.casing:
        return f"{other.name} does not declare just what is in {line.name}; choose another line."
    if other.cook_as != line.cook_as or other.boneless_fraction != line.boneless_fraction:
        return f"{other.name} is not the same cut as {line.name}; choose another line."
    return ""


def _new_line(act: Act, line: AnyRow) -> str:
    """Make the frozen line of a line: all that is told of it, at a share of its usual price."""
    view = load_view(act.conn, act.at, act.settings, [line.id])
    board = board_at(act.conn, act.at, act.settings.currency)[line.id]
    share = Fraction(view.usual_price(line.id, board)) * Fraction(FREEZE_PRICE)
    price = decimal_of(share, minor_places(board.currency), act.settings.rounding)
    least = Decimal(1).scaleb(-minor_places(board.currency))
    case_id = add_case_line(act, NewCaseLine(
        name=_name(line), species=line.species,
        price=UnitPrice.of(f"{max(price, least):f}", act.settings.legal_unit, board.currency),
        keeps_days=FROZEN_DAYS.get(line.cook_as, min(FROZEN_DAYS.values())), cook_as=line.cook_as,
        form="frozen", by_piece=line.by_piece, boneless_fraction=Decimal(line.boneless_fraction),
        contains=tuple(line.contains), casing=line.casing,
        grill_sq_in_per_lb=Decimal(line.grill_sq_in_per_lb),
        minutes=(line.minutes_low, line.minutes_high), method=line.method,
        styles=dict(line.styles), slots=tuple(line.slots),
    ))  # fmt: skip
    cook = load_cooks(act.conn).get(line.id)
    if cook is not None:
        set_cook(act, case_id, cook)
    told = line_facts(act.conn, line.id)
    if told.is_told:
        # the number of the till and of the trade belong to the line they were given to
        set_facts(act, case_id, replace(told.facts, item=None, gtin=None))
    return case_id


def freeze(
    act: Act, case_id: str, weight: Weight, *, packed: Weight | None = None, into: str = "",
    pieces_of: Sequence[Weight] = (), parts: Sequence[Weight] = (),
) -> tuple[str, tuple[str, ...]]:  # fmt: skip
    """Freeze stock of a line; return the frozen line and the new lots.

    Parameters
    ----------
    act : Act
        The write.
    case_id : str
        The line.
    weight : Weight
        What is taken of it.
    packed : Weight, optional
        What the packs weigh; left out, as much. What lacks is loss.
    into : str
        A frozen line of the same cut; left out, its own, made if there is none.
    pieces_of, parts : sequence of Weight
        Of goods sold by the whole piece: which are taken, and what each weighs packed.

    Raises
    ------
    WrongState
        If it was frozen before, is no raw meat, or its last day has come.
    BadValue, NotEnoughFree
        See `take_free` and `kept_of`; or if the frozen line is of another cut.
    """
    line = line_row(act, case_id)
    no = may_be_frozen(line, thawed_lines(act.conn))
    if no:
        raise WrongState(no, where="do")
    today = act.at.date()
    taken = take_free(act, line, weight, may=lambda last: last is not None and last > today,
                      pieces_of=pieces_of)  # fmt: skip
    shares = kept_of(taken, packed)
    frozen = _frozen_line(act, line, into)
    packs = _packs(frozen, taken, shares, parts)
    last = today + timedelta(days=int(frozen.keeps_days or min(FROZEN_DAYS.values())))
    found = []
    for one, kept, own in zip(taken, shares, packs, strict=True):
        found.append(_put_down(act, one, (kept, own), frozen, last))
    return frozen.id, tuple(found)


def _put_down(
    act: Act, one: Taken, kept: tuple[int, Sequence[Weight]], frozen: AnyRow, last: date
) -> str:
    new = child_of(one.lot, frozen, frozen.name, case_id=frozen.id, use_by=last)
    return rework(act, one, kept[0], rest="drip", reason=FROZEN, into=new, parts=kept[1])


def _frozen_line(act: Act, line: AnyRow, into: str) -> AnyRow:
    if into:
        other = line_row(act, into)
        no = _unlike(line, other)
        if no:
            raise BadValue(no, where="into")
        return other
    found = frozen_line_of(act, line)
    return found if found is not None else line_row(act, _new_line(act, line))


def _packs(
    frozen: AnyRow, taken: Sequence[Taken], shares: Sequence[int], parts: Sequence[Weight]
) -> list[Sequence[Weight]]:
    """Return the whole pieces of each lot; none on a line sold by weight."""
    if not frozen.by_piece:
        return [() for _ in taken]
    if not parts:
        unit = Weight.zero().unit
        if all(kept == one.count for one, kept in zip(taken, shares, strict=True)):
            return [[Weight(pick.count, unit) for pick in one.picks] for one in taken]
        parts = [Weight(sum(shares), unit)]
    if len(taken) > 1 or sum(part.count for part in parts) != sum(shares):
        raise BadValue(
            f"{frozen.name} is sold by the whole piece: freeze the pieces of one lot at a time,"
            " with the weight of each, like 4.1 + 4.2.",
            where="gives",
        )
    return [parts]
