"""One board to be worked out: what the animal cost, what its cuts weigh, what is asked.

Weights and prices are exact fractions of the problem's unit and currency.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from collop.measures import Rounding

__all__ = ["Asked", "Board", "BoardCut", "Credit", "EndingRule"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardCut:
    """One cut on the board.

    Parameters
    ----------
    cut_id, name, path : str
        Its id, its name, and where it stands in the problem.
    weight : Fraction
        What was cut [unit]; more than zero.
    shrink : Fraction
        Part of the weight that brings nothing (dries, spoils, is thrown), from 0 to under 1.
    relative : Fraction
        Price against a cut of relative 1; not used where `fixed` is given.
    present, fixed, sold : Fraction or None
        Price on the board now [money/unit], price that stays [money/unit], weight sold so far
        [unit].
    floor : Fraction
        Lowest price [money/unit], zero if there is none.
    cap : Fraction or None
        Highest price [money/unit].
    extra : Fraction
        Further cost of each unit of weight [money/unit].
    answers : bool
        Whether its price may answer when another moves.
    sells : Fraction
        The weight that brings money: weight x (1 - shrink) [unit]; worked out.
    """

    cut_id: str
    name: str
    path: str = ""
    weight: Fraction
    shrink: Fraction = Fraction(0)
    relative: Fraction = Fraction(1)
    present: Fraction | None = None
    fixed: Fraction | None = None
    floor: Fraction = Fraction(0)
    cap: Fraction | None = None
    sold: Fraction | None = None
    extra: Fraction = Fraction(0)
    answers: bool = True
    sells: Fraction = field(init=False)

    def __post_init__(self) -> None:
        # asked for thousands of times on a long board
        object.__setattr__(self, "sells", self.weight * (1 - self.shrink))


@dataclass(frozen=True, slots=True)
class Credit:
    """A by-product taken off the cost: weight [unit], value a unit [money/unit]."""

    name: str
    weight: Fraction
    value: Fraction


@dataclass(frozen=True, slots=True)
class EndingRule:
    """Where prices may end: on multiples of `step` [minor units], or on `ends` of a whole one."""

    step: int
    ends: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A change asked about: the cut's id and by how much its price moves [minor units]."""

    cut_id: str
    by: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """What the board is worked out from.

    Parameters
    ----------
    cost : Fraction
        Bought, haulage, labour, other and the extra cost of each cut [money].
    margin : Fraction
        Wanted part of the sales, 0 to under 1.
    start, loss : Fraction or None
        Weight before cutting and weight lost in cutting [unit].
    tolerance : Fraction
        How far the weights may miss each other [unit].
    notes : tuple of str
        What was assumed while reading.
    """

    name: str
    currency: str
    rounding: Rounding
    unit: str
    cost: Fraction
    margin: Fraction
    cuts: tuple[BoardCut, ...]
    credits: tuple[Credit, ...]
    start: Fraction | None
    loss: Fraction | None
    tolerance: Fraction
    endings: EndingRule
    pulls: tuple[Asked, ...]
    notes: tuple[str, ...]

    @property
    def credit_value(self) -> Fraction:
        """Return what the by-products take off the cost [money]."""
        return sum((one.weight * one.value for one in self.credits), Fraction(0))

    @property
    def net_cost(self) -> Fraction:
        """Return the cost the cuts must carry [money]."""
        return self.cost - self.credit_value

    @property
    def needed(self) -> Fraction:
        """Return the sales that leave the wanted margin: net cost / (1 - margin) [money]."""
        return self.net_cost / (1 - self.margin)
