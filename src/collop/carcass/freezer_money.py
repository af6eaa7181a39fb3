"""What a freezer order costs: hanging price, fees, and the same packs at the board."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.carcass.freezer_cutting import STEP
from collop.carcass.freezer_packs import PackLine, exact_text
from collop.carcass.freezer_reading import BoardLine, Fee, FreezerOrder, FreezerPart
from collop.measures import Money, UnitPrice, Weight, decimal_of, minor_places, round_fraction
from collop.measures import sum_money as added

__all__ = ["AtBoard", "at_board", "hanging_money", "money_of"]

# words that say how a thing is cut, not what it is
_HOW = frozenset({
    "bone", "in", "on", "off", "cap", "chop", "steak", "slice", "roast", "whole", "boneless",
    "rolled", "end", "the", "and", "or", "of", "with", "fat", "center", "centre", "diced", "ready",
    "inch",
})  # fmt: skip
_ALSO = {"shin": "shank", "foreshank": "shank", "fillet": "tenderloin", "kid": "goat"}


@dataclass(frozen=True, slots=True)
class AtBoard:
    """A line of packs at the board: the case line it is most like, and the money; None if none."""

    line: BoardLine | None
    money: Money | None


def _words(text: str, species: str) -> set[str]:
    plain = (word.removesuffix("s") for word in re.findall(r"[a-z]+", text.casefold()))
    return {_ALSO.get(word, word) for word in plain} - _HOW - {species}


def _like(line: PackLine, species: str, board: Sequence[BoardLine]) -> BoardLine | None:
    """Return the case line that says nothing but this cut and its large cut; None if none does.

    The one with most words is most like it: short ribs before ribs.
    """
    if line.form in {"stew", "bones", "fat"}:
        return None
    own = _words(f"{line.cut} {line.large_cut}", species)
    fits = []
    for at, one in enumerate(board):
        said = _words(one.name, species)
        if one.species == species and said and said <= own:
            fits.append((len(said & _words(line.cut, species)), len(said), -at, one))
    return max(fits, key=lambda found: found[:3])[3] if fits else None


def at_board(line: PackLine, species: str, order: FreezerOrder) -> AtBoard:
    """Return what a line of packs would cost from the case.

    Parameters
    ----------
    line : PackLine
        The packs.
    species : str
        Of the piece.
    order : FreezerOrder
        Board, unit and rounding rule.
    """
    found = _like(line, species, order.board)
    if found is None:
        return AtBoard(None, None)
    weight = Weight(line.steps * STEP[order.unit].count, order.unit)
    return AtBoard(found, found.price.line(weight, order.rounding))


def money_of(
    order: FreezerOrder, *, packs: int, take_home: Weight, meat: Weight | None,
    board: Sequence[tuple[PackLine, AtBoard]],
) -> dict[str, Any]:  # fmt: skip
    """Return the money of the plan's JSON: lines rounded once each, total, per take-home unit.

    Parameters
    ----------
    order : FreezerOrder
        Prices and fees.
    packs : int
        How many there are.
    take_home : Weight
        Weight of all packs.
    meat : Weight or None
        The same without packs of bones and fat; None if not known.
    board : sequence of (PackLine, AtBoard)
        Every line of packs with its like at the board.
    """
    lines = [*_hanging(order), *_fees(order, packs, take_home)]
    total = added((line["of"] for line in lines), order.currency)
    places = minor_places(order.currency)
    money = [one.money for _, one in board if one.money is not None]
    step = STEP[order.unit].count
    at = sum(line.steps for line, one in board if one.money is not None)
    none = sum(line.steps for line, one in board if one.money is None)
    return {
        "lines": [_line_json(line) for line in lines],
        "total": str(total),
        "per_take_home": _per(total, take_home, order, places),
        "per_meat": None if meat is None else _per(total, meat, order, places),
        "board": str(added(money, order.currency)) if money else None,
        "board_weight": exact_text(Weight(at * step, order.unit)),
        "no_board_weight": exact_text(Weight(none * step, order.unit)),
        "half_cent": any(line["half"] for line in lines),
    }


def _per(total: Money, weight: Weight, order: FreezerOrder, places: int) -> str | None:
    """Return the money for each unit of weight, for display."""
    if not weight:
        return None
    per = total.minor / weight.exact(order.unit) / 10**places
    return str(decimal_of(per, places, order.rounding))


def _line_json(line: Mapping[str, Any]) -> dict[str, Any]:
    return {"what": line["what"], "how": line["how"], "money": str(line["of"])}


def hanging_money(order: FreezerOrder, part: FreezerPart) -> Money:
    """Return the money for one piece by its hanging weight, rounded once; zero without a price."""
    if part.paid.price is None:
        return Money(0, order.currency)
    return part.paid.price.line(part.paid.weight, order.rounding)


def _hanging(order: FreezerOrder) -> Iterator[dict[str, Any]]:
    for part in order.parts:
        paid = part.paid
        if paid.price is None:
            continue
        exact = paid.price.minor * paid.weight.exact(order.unit)
        yield {
            "what": f"{part.tag} {part.piece.title}".strip(),
            "how": f"{exact_text(paid.weight)} {order.unit} hanging,"
                   f" {'hot' if paid.is_hot else 'cold'}, at {paid.price.amount} a {order.unit}",
            "of": hanging_money(order, part),
            "half": exact % 1 == Fraction(1, 2),
        }  # fmt: skip


def _fees(order: FreezerOrder, packs: int, take_home: Weight) -> Iterator[dict[str, Any]]:
    hanging = sum((part.paid.weight for part in order.parts), Weight.zero(order.unit))
    for fee in order.fees:
        count, words = _counted(fee, order, packs, hanging, take_home)
        exact = UnitPrice(fee.amount, order.unit, order.currency).minor * count
        yield {
            "what": fee.name, "how": words,
            "of": Money(round_fraction(exact, order.rounding), order.currency),
            "half": exact % 1 == Fraction(1, 2),
        }  # fmt: skip


def _counted(
    fee: Fee, order: FreezerOrder, packs: int, hanging: Weight, take_home: Weight
) -> tuple[Fraction, str]:
    if fee.per == "order":
        return Fraction(1), "for the order"
    if fee.per == "pack":
        return Fraction(packs), f"{packs} packs at {fee.amount}"
    weight = hanging if fee.per == "hanging" else take_home
    words = f"{exact_text(weight)} {order.unit} {fee.per.replace('-', ' ')} at {fee.amount}"
    return weight.exact(order.unit), words
