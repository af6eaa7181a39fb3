"""Work on what is booked or free: what the shop hands out of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from collop.measures import UnitPrice, Weight, round_fraction

__all__ = ["RESTS", "ToppedUp", "Work", "Worked"]

#: Where what work takes off may go, and what the screen calls it.
RESTS: Mapping[str, str] = {"bone": "bone", "trim": "trim", "fat": "fat", "drip": "lost"}


@dataclass(frozen=True, slots=True)
class Worked:
    """What of a booked line was worked on: it weighed `before` and weighs `after`, in counts."""

    before: int = 0
    after: int = 0

    @property
    def lost(self) -> int:
        """Return what work took off, in counts."""
        return self.before - self.after

    def paid_for(self, weighed: int) -> int:
        """Return the bought weight of what the scale says, in counts.

        What was worked on counts as it was bought, the rest as it is; what is left out of a
        parcel is taken to be of what was not worked on, as long as there is any.

        Examples
        --------
        >>> done = Worked(before=130, after=94)
        >>> done.paid_for(224), done.paid_for(94), done.paid_for(47), done.paid_for(0)
        (260, 130, 65, 0)
        """
        if weighed >= self.after:
            return self.before + weighed - self.after
        return round_fraction(Fraction(weighed * self.before, self.after))


@dataclass(frozen=True, slots=True)
class ToppedUp:
    """What fills a gap of a booked line: another line, `line_id`, of `weight`.

    `ready` is what the short line weighed when it was topped up, None if it was not weighed yet.
    """

    line_id: str
    name: str
    weight: Weight
    ready: Weight | None

    @property
    def words(self) -> str:
        """Return it as it is told."""
        return f"topped up with {self.weight.text()} of {self.name}"


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work: `before` of a line of the case became `after` of another.

    `line_id` is the booked line it was done on, None for free stock of the case. `lots` are what it
    became; `rest` what was taken off, which is at the place `rest_place`. `kept` is the price that
    keeps the value of what it was made of, `price` the one on the board.
    """

    number: int
    line_id: str | None
    from_case: str
    from_name: str
    into_case: str
    name: str
    before: Weight
    after: Weight
    lots: tuple[str, ...]
    rest: Weight
    rest_place: str
    words: str
    price: UnitPrice | None
    kept: UnitPrice
    at: datetime
    by: str | None
    taken_back: bool
