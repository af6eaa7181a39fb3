"""The carcass equation, solved exactly.

    sum of price x weight x (1 - shrink)  =  cost / (1 - margin)

with price = relative x base, held between the cut's floor and cap, or fixed. What the cuts bring
is a rising, piecewise linear function of the base: it bends where a cut leaves its floor or meets
its cap. The base is found by walking those bends, in fractions; nothing is rounded here.

References
----------
.. [1] The equation and the base without floors and caps: standard results, from memory (source
   unknown); a published carcass to try them on: source id ``S20`` (hog breakdown, seen).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.equation_board import BoardCut

__all__ = ["Solved", "brought", "held", "solve_base", "solve_board"]


@dataclass(frozen=True, slots=True)
class Solved:
    """A board before its prices are put on endings.

    Parameters
    ----------
    base : Fraction or None
        Price of a cut of relative 1 [money/unit]; None where every price is fixed.
    prices : tuple of Fraction, shape (cuts,)
        Exact prices [money/unit].
    whys : tuple of str
        ``free``, ``fixed``, ``floor`` or ``cap`` for each cut.
    revenue : Fraction
        What the cuts bring [money].
    reached : bool
        Whether that is at least what is needed.
    """

    base: Fraction | None
    prices: tuple[Fraction, ...]
    whys: tuple[str, ...]
    revenue: Fraction
    reached: bool


def brought(cuts: Iterable[BoardCut], prices: Iterable[Fraction]) -> Fraction:
    """Return what the cuts bring at these prices: sum of price x selling weight [money]."""
    pairs = zip(cuts, prices, strict=True)
    return sum((price * cut.sells for cut, price in pairs), Fraction(0))


def held(cut: BoardCut, base: Fraction) -> tuple[Fraction, str]:
    """Return a cut's price at this base [money/unit], and what holds it there.

    Examples
    --------
    >>> loin = BoardCut(cut_id="L", name="loin", weight=Fraction(10), relative=Fraction(3, 2),
    ...                 cap=Fraction(8))
    >>> held(loin, Fraction(6))
    (Fraction(8, 1), 'cap')
    """
    if cut.fixed is not None:
        return cut.fixed, "fixed"
    price = cut.relative * base
    if price < cut.floor:
        return cut.floor, "floor"
    if cut.cap is not None and price >= cut.cap:
        return cut.cap, "cap"
    return price, "free"


def solve_base(cuts: Sequence[BoardCut], want: Fraction) -> tuple[Fraction, bool]:
    """Find the smallest base at which free cuts bring what is wanted.

    Parameters
    ----------
    cuts : sequence of BoardCut
        Free cuts only, at least one.
    want : Fraction
        What they must bring [money].

    Returns
    -------
    Fraction, bool
        The base [money/unit]; whether it is reached. Where the floors alone bring enough the base
        is zero; where all caps together do not, it is the one at which the last cap is met.
    """
    brings = sum((cut.floor * cut.sells for cut in cuts if cut.floor), Fraction(0))
    if brings >= want:
        return Fraction(0), True
    slope, bends = Fraction(0), []
    for cut in cuts:
        rise = cut.relative * cut.sells
        if cut.floor:
            bends.append((cut.floor / cut.relative, rise))
        else:
            slope += rise
        if cut.cap is not None:
            bends.append((cut.cap / cut.relative, -rise))
    at = Fraction(0)
    for bend, change in sorted(bends):
        reach = brings + slope * (bend - at)
        if reach >= want:
            break
        brings, at, slope = reach, bend, slope + change
    if not slope:
        return at, False
    return at + (want - brings) / slope, True


def solve_board(cuts: Sequence[BoardCut], needed: Fraction) -> Solved:
    """Price the free cuts so that all cuts together bring what is needed.

    Parameters
    ----------
    cuts : sequence of BoardCut
        At least one; fixed prices stay.
    needed : Fraction
        Sales needed [money].

    Returns
    -------
    Solved
        Where no floor is too high and no cap too low, `revenue` is `needed` exactly.

    Examples
    --------
    >>> chop = BoardCut(cut_id="C", name="chops", weight=Fraction(10))
    >>> loin = BoardCut(cut_id="L", name="loin", weight=Fraction(5), relative=Fraction(2))
    >>> solve_board([chop, loin], Fraction(80)).prices
    (Fraction(4, 1), Fraction(8, 1))
    """
    free = [cut for cut in cuts if cut.fixed is None]
    base: Fraction | None = None
    if free:
        fixed = sum((cut.fixed * cut.sells for cut in cuts if cut.fixed is not None), Fraction(0))
        base, _ = solve_base(free, needed - fixed)
    both = [held(cut, base or Fraction(0)) for cut in cuts]
    prices = tuple(price for price, _ in both)
    revenue = brought(cuts, prices)
    return Solved(base, prices, tuple(why for _, why in both), revenue, revenue >= needed)
