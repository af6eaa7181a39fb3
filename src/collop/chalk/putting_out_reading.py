"""How much to put out: price, cost, what is left is worth, and the demand; read from JSON."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import (
    LEAST,
    Frame,
    above_zero,
    amount,
    maybe,
    plain,
    read_frame,
    read_unit,
)
from collop.chalk.putting_out_demand import Counted, Demand, Normal, Poisson, Uniform
from collop.errors import Contradiction
from collop.wire import Reader

__all__ = ["KINDS", "MOST_SEEN", "SCHEMA_ID", "Stock", "read_stock"]

SCHEMA_ID = "collop.putout/1"
KINDS = ("normal", "uniform", "poisson", "counts")
MOST_SEEN = 2000
_MOST_PIECES = 10_000
_KEYS = (
    "schema", "name", "currency", "rounding", "unit", "price", "cost", "salvage", "demand", "step",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What is to be put out.

    Parameters
    ----------
    unit : str
        Of the stock and its demand.
    price, cost, salvage : Fraction
        Money per unit: when it sells, what it is worth elsewhere, what is left is worth.
    demand : Demand
        In `unit`, over the time until the case is filled again.
    kind : str
        One of `KINDS`.
    step : Fraction
        What is put out is a multiple of it [unit].
    """

    frame: Frame
    unit: str
    price: Fraction
    cost: Fraction
    salvage: Fraction
    demand: Demand
    kind: str
    step: Fraction

    @property
    def underage(self) -> Fraction:
        """Return what one unit too few costs."""
        return self.price - self.cost

    @property
    def overage(self) -> Fraction:
        """Return what one unit too many costs."""
        return self.cost - self.salvage

    def profit(self, stock: Fraction) -> Fraction:
        """Return the mean profit of putting `stock` out."""
        return (self.price - self.salvage) * self.demand.sold(stock) - self.overage * stock


def read_stock(value: object) -> Stock:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.putout/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value; where nothing is earned by selling, or nothing is
        lost by having too much.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    price, cost = above_zero(top, "price", least=LEAST), Fraction(top.decimal("cost"))
    salvage = maybe(top, "salvage") or Fraction(0)
    if price <= cost:
        raise Contradiction(
            f"$.price is {plain(price, at_least=2)}, not more than the cost of "
            f"{plain(cost, at_least=2)}; put none out, or ask more.",
            where="$.price",
        )
    if cost <= salvage:
        raise Contradiction(
            f"$.salvage is {plain(salvage, at_least=2)}, not less than the cost of "
            f"{plain(cost, at_least=2)}; nothing is lost by putting all of it out.",
            where="$.salvage",
        )
    kind, demand = _demand(top)
    default_unit, default_step = ("piece", "1") if kind == "poisson" else ("lb", "0.1")
    return Stock(
        frame=read_frame(top),
        unit=read_unit(top, default_unit),
        price=price,
        cost=cost,
        salvage=salvage,
        demand=demand,
        kind=kind,
        step=above_zero(top, "step", least=LEAST) if top.has("step") else Fraction(default_step),
    )


def _demand(top: Reader) -> tuple[str, Demand]:
    keys = ("kind", "mean", "sd", "low", "high", "seen")
    row = Reader(top.value.get("demand"), "$.demand", keys)
    kind = row.choice("kind", KINDS)
    wanted = {
        "normal": ("mean", "sd"),
        "uniform": ("low", "high"),
        "poisson": ("mean",),
        "counts": ("seen",),
    }[kind]
    for key in keys[1:]:
        if row.has(key) and key not in wanted:
            raise row.fail(key, f"is not used by {kind} demand; leave it out.")
        if key in wanted and not row.has(key):
            raise row.fail(key, f"is missing; {kind} demand needs it.")
    if kind == "counts":
        return kind, _counted(row)
    if kind == "poisson":
        return kind, _poisson(row)
    low, high = (amount(row.value[key], row.where(key)) for key in wanted)
    if kind == "normal":
        return kind, Normal(low, high) if high else Counted((low,))
    if high < low:
        raise row.fail("high", "is less than low; give the larger of the two.")
    return kind, Uniform(low, high) if high > low else Counted((low,))


def _poisson(row: Reader) -> Demand:
    mean = amount(row.value["mean"], row.where("mean"))
    if not 0 < mean <= _MOST_PIECES:
        raise row.fail("mean", f"must be above 0 and at most {_MOST_PIECES} pieces.")
    return Poisson(mean)


def _counted(row: Reader) -> Counted:
    values = row.items("seen")
    if not 1 <= len(values) <= MOST_SEEN:
        raise row.fail("seen", f"has {len(values)} days; give from 1 to {MOST_SEEN}.")
    return Counted(tuple(sorted(amount(value, path) for path, value in row.each("seen"))))
