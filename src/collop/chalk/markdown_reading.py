"""Ageing stock, what it sells at its price, and what else it can become; read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import UnitFrame, above_zero, exact, maybe, read_unit_frame
from collop.chalk.endings import Grid
from collop.errors import BadValue, Contradiction
from collop.measures import minor_places
from collop.wire import Reader, checked_decimal

__all__ = ["AIMS", "MOST_ENDINGS", "MOST_PERIODS", "SCHEMA_ID", "Stock", "Way",
           "read_stock"]  # fmt: skip

SCHEMA_ID = "collop.markdown/1"
MOST_PERIODS = 60
MOST_ENDINGS = 100
AIMS = ("most", "clear")
_KEYS = (
    "schema", "name", "currency", "rounding", "unit", "stock", "price", "usual", "elasticity",
    "salvage_per_unit", "periods", "first_share", "floor", "cap", "convert", "freeze",
    "demand_cv", "endings", "aim",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Way:
    """Another use of the stock while it is sound.

    Parameters
    ----------
    way : str
        ``convert``, ``freeze`` or ``salvage``.
    to : str
        What it becomes, in the shop's word.
    value : Fraction
        Money per unit of stock, after labour; above zero.
    takes : Fraction or None
        Most it can take [unit of stock]; None: all.
    """

    way: str
    to: str
    value: Fraction
    takes: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """The stock, its demand, and the rules.

    Parameters
    ----------
    stock : Fraction
        Weight left [unit].
    price, usual : Fraction
        Present price per unit, and weight sold a period at it.
    elasticity : Fraction
        Percent more sold for one percent off.
    periods : int
        Selling periods left before its date, today's first; 0: its date is past.
    first_share : Fraction
        How much of the first period is left, above 0 to 1.
    floor, cap : Fraction
        Lowest and highest price per unit.
    ways : tuple of Way
        Best first.
    given : tuple of Way
        All that were given, worth something or not, in the order of the problem.
    cv : Fraction
        Standard deviation over mean of the weight sold in one period.
    endings : Grid or None
        Prices that may stand on the board, in minor units; None: any.
    aim : str
        ``most`` money, or ``clear`` the stock.
    """

    frame: UnitFrame
    stock: Fraction
    price: Fraction
    usual: Fraction
    elasticity: Fraction
    periods: int
    first_share: Fraction
    floor: Fraction
    cap: Fraction
    ways: tuple[Way, ...]
    given: tuple[Way, ...]
    cv: Fraction
    endings: Grid | None
    aim: str


def read_stock(value: object) -> Stock:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.markdown/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value; also where the floor is above the cap.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    frame, price = read_unit_frame(top), above_zero(top, "price")
    floor, cap = _bounds(top, price)
    given = tuple(_ways(top))
    return Stock(
        frame=frame,
        stock=above_zero(top, "stock"),
        price=price,
        usual=above_zero(top, "usual"),
        elasticity=exact(top.number("elasticity", 0.05, 20.0)),
        periods=top.whole("periods", 0, MOST_PERIODS, 1),
        first_share=exact(top.number("first_share", 0.01, 1.0, 1.0)),
        floor=floor,
        cap=cap,
        ways=tuple(sorted((way for way in given if way.value > 0), key=lambda way: -way.value)),
        given=given,
        cv=exact(top.number("demand_cv", 0.0, 2.0, 0.0)),
        endings=_endings(top, minor_places(frame.currency)),
        aim=top.choice("aim", AIMS, AIMS[0]),
    )


def _bounds(top: Reader, price: Fraction) -> tuple[Fraction, Fraction]:
    floor = maybe(top, "floor") or Fraction(0)
    # a mark-down never raises a price unless the shop says how far
    cap = above_zero(top, "cap") if top.has("cap") else price
    if floor > cap:
        raise Contradiction(
            f"$.floor is {float(floor):g}, above the highest price {float(cap):g}; lower the "
            "floor, or give a higher cap.",
            where="$.floor",
        )
    return floor, cap


def _ways(top: Reader) -> Iterator[Way]:
    if top.has("convert"):
        keys = ("to", "price", "yield", "labour_per_unit", "takes")
        row = Reader(top.value["convert"], "$.convert", keys)
        worth = Fraction(row.decimal("price")) * exact(row.number("yield", 0.0, 1.5, 1.0))
        labour = maybe(row, "labour_per_unit") or Fraction(0)
        yield Way("convert", row.text("to", "mince"), worth - labour, maybe(row, "takes"))
    if top.has("freeze"):
        keys = ("price", "yield", "cost_per_unit", "chance_sold", "takes")
        row = Reader(top.value["freeze"], "$.freeze", keys)
        worth = Fraction(row.decimal("price")) * exact(row.number("yield", 0.0, 1.0, 1.0))
        chance = exact(row.number("chance_sold", 0.0, 1.0, 1.0))
        cost = maybe(row, "cost_per_unit") or Fraction(0)
        yield Way("freeze", "frozen", worth * chance - cost, maybe(row, "takes"))
    if top.has("salvage_per_unit"):
        worth = Fraction(top.decimal("salvage_per_unit"))
        if worth:
            yield Way("salvage", "other use", worth, None)


def _endings(top: Reader, places: int) -> Grid | None:
    if not top.has("endings"):
        return None
    row = Reader(top.value["endings"], "$.endings", ("step", "of"))
    if row.has("step") == row.has("of"):
        raise top.fail("endings", 'takes one of "step" and "of"; give just one.')
    if row.has("step"):
        return Grid(_minor(above_zero(row, "step"), row.where("step"), places))
    if not 1 <= len(row.items("of")) <= MOST_ENDINGS:
        raise row.fail("of", f"must hold 1 to {MOST_ENDINGS} endings such as 0.99.")
    ends = {_one_ending(path, value, places) for path, value in row.each("of")}
    return Grid(10**places, tuple(sorted(ends)))


def _one_ending(path: str, value: object, places: int) -> int:
    found = Fraction(checked_decimal(value, path))
    if found >= 1:
        raise BadValue(f"{path} is {value}; an ending is under 1, such as 0.99.", where=path)
    return _minor(found, path, places)


def _minor(amount: Fraction, where: str, places: int) -> int:
    scaled = amount * 10**places
    if scaled.denominator != 1:
        raise BadValue(f"{where} is finer than the currency; use at most {places} decimals.",
                       where=where)  # fmt: skip
    return int(scaled)
