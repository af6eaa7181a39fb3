"""What is in the shop: stock by age, the rail, the trim, and where every bit of weight went."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction

from loop_customers import Order
from loop_shop import (
    BONE_CENTS,
    CUTS,
    GRIND_GIVES,
    GRIND_MINUTES,
    KINDS,
    MAKES,
    PAY_PER_HOUR,
    SHRINK,
    SPREAD_OF_SHARE,
    TRIM_KEEPS,
    TRIM_OF,
    Animal,
    Style,
    next_open,
)

__all__ = ["Lot", "Piece", "Store", "cents"]


def cents(mlb: int, per_lb: int) -> int:
    """Return the price of a weight, half a cent up."""
    return (2 * mlb * per_lb + 1000) // 2000


@dataclass(slots=True)
class Lot:
    """Weight of one cut or of trim that is good up to and with a day."""

    mlb: int
    last: int


@dataclass(slots=True)
class Piece:
    """What hangs, or a large cut that waits: until which day, and what it stands for."""

    tag: str
    kind: str
    mlb: int
    cost: int
    until: int
    animal: Animal
    waits: bool = False


@dataclass(slots=True)
class Store:
    """Stock, rail and sums; every weight that comes in is somewhere (`where`)."""

    seed: int
    stock: dict[str, list[Lot]] = field(default_factory=lambda: {cut: [] for cut in CUTS})
    trim: dict[str, list[Lot]] = field(default_factory=lambda: {name: [] for name in MAKES})
    rail: dict[str, Piece] = field(default_factory=dict)
    held: dict[tuple[str, int], int] = field(default_factory=lambda: defaultdict(int))
    where: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    money: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    sold: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    binned: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    minutes: Fraction = Fraction(0)
    lost: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    said: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    ends_left: list[int] = field(default_factory=list)

    # what comes and hangs

    def receive(self, animal: Animal) -> None:
        """Hang an animal."""
        self.where["in"] += animal.mlb
        self.rail[animal.tag] = Piece(animal.tag, animal.kind, animal.mlb, animal.cost,
                                      animal.until, animal)  # fmt: skip

    def hang(self, days: int) -> None:
        """Let the air take its share for so many days."""
        for piece in self.rail.values():
            if not piece.waits:
                kept = int(piece.mlb * (1 - SHRINK) ** days)
                self.where["air and saw"] += piece.mlb - kept
                piece.mlb = kept

    def cut_up(self, tag: str, style: Style, day: int) -> list[str]:
        """Cut a piece and return the tags of the large cuts that come off.

        What comes off varies by the piece and the style alone, so that the same cut gives the same
        weights whoever decided it.
        """
        piece = self.rail.pop(tag)
        self.minutes += style.minutes
        pick = random.Random(f"{self.seed} {tag} {style.id}")
        left, large = piece.mlb, []
        for to, share in style.shares.items():
            part = float(share) * (1 + SPREAD_OF_SHARE * max(-2.0, min(2.0, pick.gauss(0, 1))))
            mlb = min(left, 10 * round(piece.mlb * part / 10))
            left -= mlb
            if to in KINDS:
                node = f"{tag}/{to}"
                large.append(node)
                self.rail[node] = Piece(
                    node, to, mlb, 0, day + KINDS[to][0], piece.animal, waits=True
                )
            elif to in CUTS:
                self.put(self.stock[to], mlb, day + CUTS[to].keeps)
            elif to in MAKES:
                self.put(self.trim[to], mlb, day + TRIM_KEEPS)
            else:
                self.where["bone"] += mlb
                self.money["bone"] += cents(mlb, BONE_CENTS)
        self.where["air and saw"] += left
        return large

    @staticmethod
    def put(lots: list[Lot], mlb: int, last: int) -> None:
        """Add weight to lots that stand in the order of their days."""
        if mlb:
            lots.append(Lot(mlb, last))
            lots.sort(key=lambda lot: lot.last)

    @staticmethod
    def free(lots: list[Lot], day: int) -> int:
        """Return what of lots is good on a day."""
        return sum(lot.mlb for lot in lots if lot.last >= day)

    @staticmethod
    def take(lots: list[Lot], mlb: int, day: int) -> int:
        """Take up to a weight off what is good on a day, the oldest first; return what it was."""
        taken = 0
        for lot in lots:
            if lot.last >= day and taken < mlb:
                part = min(lot.mlb, mlb - taken)
                lot.mlb -= part
                taken += part
        lots[:] = [lot for lot in lots if lot.mlb]
        return taken

    # what is made

    def grind(self, cut: str, mlb: int, day: int) -> None:
        """Turn a cut that is good into trim; it keeps no longer than trim does."""
        taken = self.take(self.stock[cut], mlb, day)
        gives = int(taken * GRIND_GIVES[cut])
        self.minutes += GRIND_MINUTES * taken / 1000
        self.where["air and saw"] += taken - gives
        self.put(self.trim[TRIM_OF[CUTS[cut].species]], gives, day + TRIM_KEEPS)

    def make(self, name: str, mlb: int, day: int) -> None:
        """Make mince or links of trim."""
        cut, minutes, cost = MAKES[name]
        taken = self.take(self.trim[name], mlb, day)
        self.minutes += minutes * taken / 1000
        self.money["making"] -= cents(taken, cost)
        self.put(self.stock[cut], taken, day + CUTS[cut].keeps)

    # what goes

    def sell(self, cut: str, mlb: int, day: int, what: str) -> int:
        """Sell what is there of a weight that is good on a day; return it."""
        taken = self.take(self.stock[cut], mlb, day)
        self.where["sold"] += taken
        self.sold[cut] += taken
        self.money[what] += cents(taken, CUTS[cut].cents)
        return taken

    def hold(self, orders: list[Order]) -> None:
        """Set aside what is there for the orders, the soonest first."""
        for order in sorted(orders, key=lambda one: (one.due, one.id)):
            for at, (cut, mlb) in enumerate(order.lines):
                wanted = mlb - self.held[order.id, at]
                self.held[order.id, at] += self.take(self.stock[cut], wanted, order.due)

    def hand_over(self, order: Order) -> None:
        """Let an order go; what is short of it is lost."""
        for at, (cut, mlb) in enumerate(order.lines):
            got = self.held.pop((order.id, at), 0)
            self.where["sold"] += got
            self.sold[cut] += got
            self.money["orders"] += cents(got, CUTS[cut].cents)
            self.lost["orders_mlb"] += mlb - got

    def close(self, day: int) -> None:
        """Close for the night: what will not be good when the shop opens again goes.

        Whatever the day was planned by, what may be ground is ground before it is lost.
        """
        opens = next_open(day)
        for cut, lots in self.stock.items():
            old = sum(lot.mlb for lot in lots if lot.last < opens)
            if old and CUTS[cut].grinds and day + TRIM_KEEPS >= opens:
                self.grind(cut, old, day)
            elif old:
                self._bin(cut, self.take(lots, old, day))
        for name, lots in self.trim.items():
            old = sum(lot.mlb for lot in lots if lot.last < opens)
            self._bin(name, self.take(lots, old, day))

    def _bin(self, what: str, mlb: int) -> None:
        self.where["binned"] += mlb
        self.binned[what] += mlb

    @property
    def labour(self) -> int:
        """Return the cost of the minutes used."""
        return round(self.minutes * PAY_PER_HOUR / 60)

    def check(self) -> None:
        """Make sure that what came in is somewhere.

        Raises
        ------
        RuntimeError
            If it is not.
        """
        there = sum(lot.mlb for lots in (*self.stock.values(), *self.trim.values()) for lot in lots)
        there += sum(self.held.values()) + sum(piece.mlb for piece in self.rail.values())
        went = sum(self.where[name] for name in ("sold", "bone", "air and saw", "binned"))
        if there + went != self.where["in"]:
            raise RuntimeError(f"{self.where['in']} came in, {there} is there and {went} went")
