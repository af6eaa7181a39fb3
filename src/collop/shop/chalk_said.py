"""What the shop adds to a plan in words: what is guessed, and what is booked or sold already."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from collop.measures import Money, Rounding, UnitPrice, Weight, minor_places, round_fraction
from collop.shop.board import price_text
from collop.shop.chalk_animals import Sheet
from collop.shop.model import Settings

__all__ = ["gone_note", "guessed_of", "listed", "mean_notes"]


def listed(names: Sequence[str]) -> str:
    """Return names as people say them.

    Examples
    --------
    >>> listed(["shin"]), listed(["shin", "ribs", "neck"])
    ('shin', 'shin, ribs and neck')
    """
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def guessed_of(problem: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of the present board rests on a guess: cuts that have no price.

    Such a cut counts as the board does: at its relative, the mean of the others.

    Parameters
    ----------
    problem : mapping
        A ``collop.chalk/1`` problem as the shop makes it.

    Returns
    -------
    dict
        ``revenue``, money that these cuts would bring; ``board``, money of all cuts with them;
        both None if nothing at all has a price. ``names`` of the cuts without one. All of it is of
        the board in force, whatever is tried.
    """
    cuts = problem["cuts"]
    bare = [cut for cut in cuts if cut["price"] is None]
    found: dict[str, Any] = {"revenue": None, "board": None, "names": [cut["name"] for cut in bare]}
    if len(bare) < len(cuts):
        for key, some in (("revenue", bare), ("board", cuts)):
            total = sum(map(_brings, some), Fraction(0)) * 10 ** minor_places(problem["currency"])
            minor = round_fraction(total, Rounding(problem["rounding"]))
            found[key] = str(Money(minor, problem["currency"]))
    return found


def _brings(cut: Mapping[str, Any]) -> Fraction:
    price = cut["relative"] if cut["price"] is None else cut["price"]
    sells = Fraction(cut["weight"]) * (1 - Fraction(str(cut["shrink"])))
    return sells * Fraction(str(price))


def gone_note(sheet: Sheet, names: Mapping[str, str], chosen: Settings) -> tuple[str, ...]:
    """Return one sentence on what is booked or sold of a piece, none if nothing is.

    Parameters
    ----------
    sheet : Sheet
        The piece.
    names : mapping of str to str
        Name of the cut that each part became, by the part's name.
    chosen : Settings
        Of the shop; weights and prices are per its legal unit.
    """
    booked: dict[tuple[str, str], int] = {}
    for one in sheet.booked:
        key = names.get(one.part, one.part), _price(one.price, chosen)
        booked[key] = booked.get(key, 0) + one.count
    is_one = "is booked " if len(booked) == 1 else ""
    told = [f"{_weight(count, chosen)} of {name} {is_one}at {price}"
            for (name, price), count in booked.items()]  # fmt: skip
    said = []
    if sold := sum(part.sold for part in sheet.parts if part.name in names):
        said.append(f"{_weight(sold, chosen)} of it is sold")
    if told:
        keeps = "and keeps that price" if is_one else "are booked and keep those prices"
        said.append(f"{listed(told)} {keeps}")
    if not said:
        return ()
    return (f"{'; '.join(said)}; the board is worked out as for the next animal like it.",)


def _price(price: UnitPrice, chosen: Settings) -> str:
    per = "" if price.per is chosen.legal_unit else f" a {price.per.value}"
    return f"{price_text(price)}{per}"


def _weight(count: int, chosen: Settings) -> str:
    return Weight(count, chosen.legal_unit).text()


def mean_notes(problem: Mapping[str, Any]) -> tuple[str, ...]:
    """Return one sentence on the cuts of a ``collop.chalk/1`` problem that have no price."""
    bare = [cut for cut in problem["cuts"] if cut["price"] is None and cut["fixed"] is None]
    if not bare:
        return ()
    names = "; ".join(cut["name"] for cut in bare)
    at = f"{bare[0]['relative']:.2f} a {problem['unit']}"
    return (f"No price on the board, so priced like the mean of the others, {at}: {names}.",)
