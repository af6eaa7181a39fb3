"""The sheet of a cutting test: what was bought, what came off, what is left; read from JSON.

Every weight on it is an exact fraction of the unit it was bought in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.carcass.cuttingtest_amounts import UNITS, exact, in_unit
from collop.errors import BadValue
from collop.measures import Rounding, WeightUnit, minor_places
from collop.wire import Reader

__all__ = ["SCHEMA_ID", "SHARES", "Line", "Plate", "Product", "Sheet", "read_sheet"]

SCHEMA_ID = "collop.cuttingtest/1"
SHARES = ("weight", "sales_value")
MOST_LINES = 200
_KEYS = (
    "schema",
    "name",
    "currency",
    "rounding",
    "bought",
    "credits",
    "loss_weight",
    "products",
    "share_by",
    "cooked_weight",
    "after_cooking",
    "portion",
    "plate",
    "new_price_per_unit",
    "tolerance",
)


@dataclass(frozen=True, slots=True)
class Line:
    """A part with its weight [unit bought in] and its value [money]."""

    part: str
    weight: Fraction
    value: Fraction


@dataclass(frozen=True, slots=True)
class Product:
    """A part that carries the cost.

    Parameters
    ----------
    part, path : str
        Its name, and where it stands in the problem.
    weight : Fraction or None
        In the unit bought in; None: what remains.
    price, margin, markup : Fraction or None
        At most one: selling price per priced unit, wanted margin on the sale, wanted mark-up on
        the cost.
    """

    part: str
    path: str
    weight: Fraction | None
    price: Fraction | None = None
    margin: Fraction | None = None
    markup: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Plate:
    """What is added to a portion before its menu price: money, a fraction, a fraction or None."""

    accompaniments: Fraction
    waste: Fraction
    food_cost: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One cutting test.

    Parameters
    ----------
    unit, per : WeightUnit
        Unit bought in; unit the price is for.
    weight, price : Fraction
        Bought [unit]; price per `per`.
    loss, cooked, tolerance : Fraction or None
        In `unit`.
    portion : Fraction or None
        In `per`, so that it can be priced.
    """

    name: str
    currency: str
    rounding: Rounding
    unit: WeightUnit
    per: WeightUnit
    weight: Fraction
    price: Fraction
    credits: tuple[Line, ...]
    loss: Fraction | None
    products: tuple[Product, ...]
    share_by: str
    cooked: Fraction | None
    after_cooking: tuple[Line, ...]
    portion: Fraction | None
    plate: Plate | None
    new_price: Fraction | None
    tolerance: Fraction

    def priced(self, weight: Fraction) -> Fraction:
        """Return a weight [unit bought in] in the unit of the price."""
        return in_unit(weight, self.unit, self.per)


def read_sheet(value: object) -> Sheet:
    """Read one cutting test.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.cuttingtest/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    currency = _currency(top)
    bought = Reader(
        top.value.get("bought"), "$.bought", ("weight", "unit", "price_per_unit", "per")
    )
    unit = WeightUnit(bought.choice("unit", UNITS, "lb"))
    per = WeightUnit(bought.choice("per", UNITS, unit.value))
    return Sheet(
        name=top.text("name", ""),
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        unit=unit,
        per=per,
        weight=_above_zero(bought, "weight"),
        price=_above_zero(bought, "price_per_unit"),
        credits=tuple(_lines(top, "credits", unit)),
        loss=_maybe(top, "loss_weight"),
        products=_products(top, unit),
        share_by=top.choice("share_by", SHARES, "weight"),
        cooked=_above_zero(top, "cooked_weight") if top.has("cooked_weight") else None,
        after_cooking=tuple(_lines(top, "after_cooking", unit)),
        portion=_portion(top, per),
        plate=_plate(top),
        new_price=_above_zero(top, "new_price_per_unit") if top.has("new_price_per_unit") else None,
        tolerance=Fraction(top.decimal("tolerance", "0") or 0),
    )


def _currency(top: Reader) -> str:
    currency = top.text("currency", "USD")
    try:
        minor_places(currency)
    except BadValue as error:
        raise top.fail("currency", f"is wrong: {error.message}") from None
    return str(currency)


def _maybe(row: Reader, key: str) -> Fraction | None:
    found = row.decimal(key, None)
    return None if found is None else Fraction(found)


def _above_zero(row: Reader, key: str) -> Fraction:
    found = Fraction(row.decimal(key))
    if not found:
        raise row.fail(key, "is zero; it must be more than zero.")
    return found


def _rows(top: Reader, key: str, keys: tuple[str, ...]) -> Iterator[Reader]:
    if len(top.items(key, [])) > MOST_LINES:
        raise top.fail(key, f"has more than {MOST_LINES} lines; join some of them.")
    for path, value in top.each(key, []):
        yield Reader(value, path, keys)


def _lines(top: Reader, key: str, unit: WeightUnit) -> Iterator[Line]:
    for row in _rows(top, key, ("part", "weight", "unit", "value_per_unit", "per")):
        own = WeightUnit(row.choice("unit", UNITS, unit.value))
        per = WeightUnit(row.choice("per", UNITS, own.value))
        weight = Fraction(row.decimal("weight"))
        value = _maybe(row, "value_per_unit") or Fraction(0)
        yield Line(row.text("part"), in_unit(weight, own, unit), in_unit(weight, own, per) * value)


def _products(top: Reader, unit: WeightUnit) -> tuple[Product, ...]:
    keys = ("part", "weight", "unit", "price_per_unit", "target_margin_pct", "target_markup_pct")
    found = tuple(_product(row, unit) for row in _rows(top, "products", keys))
    if not found:
        raise top.fail("products", "names nothing; give at least one part that carries the cost.")
    open_ones = [product for product in found if product.weight is None]
    if len(open_ones) > 1:
        where = f"{open_ones[1].path}.weight"
        raise BadValue(
            f"{where} is left out like that of {open_ones[0].part!r}; only one product can be "
            "what remains, so weigh the others.",
            where=where,
        )
    if top.value.get("share_by") == "sales_value":
        for product in found:
            if not product.price:
                where = f"{product.path}.price_per_unit"
                raise BadValue(
                    f"{where} is missing; sharing by sales value needs the price of every product.",
                    where=where,
                )
    return found


def _product(row: Reader, unit: WeightUnit) -> Product:
    own = WeightUnit(row.choice("unit", UNITS, unit.value))
    weight = _above_zero(row, "weight") if row.has("weight") else None
    aims = [k for k in ("price_per_unit", "target_margin_pct", "target_markup_pct") if row.has(k)]
    if len(aims) > 1:
        raise row.fail(aims[1], f"is given beside {aims[0]}; keep one of the two.")
    margin = row.number("target_margin_pct", 0.0, 99.0, None)
    markup = row.number("target_markup_pct", 0.0, 10_000.0, None)
    return Product(
        part=row.text("part"),
        path=row.path,
        weight=None if weight is None else in_unit(weight, own, unit),
        price=_maybe(row, "price_per_unit"),
        margin=None if margin is None else exact(margin) / 100,
        markup=None if markup is None else exact(markup) / 100,
    )


def _portion(top: Reader, per: WeightUnit) -> Fraction | None:
    if not top.has("portion"):
        return None
    row = Reader(top.value["portion"], "$.portion", ("size", "unit"))
    own = WeightUnit(row.choice("unit", UNITS, per.value))
    return in_unit(_above_zero(row, "size"), own, per)


def _plate(top: Reader) -> Plate | None:
    if not top.has("plate"):
        return None
    if not top.has("portion"):
        raise top.fail("plate", "needs a portion; give $.portion with size and unit.")
    row = Reader(top.value["plate"], "$.plate", ("accompaniments", "waste_pct", "food_cost_pct"))
    target = row.number("food_cost_pct", 1.0, 100.0, None)
    return Plate(
        accompaniments=_maybe(row, "accompaniments") or Fraction(0),
        waste=exact(row.number("waste_pct", 0.0, 100.0, 0.0)) / 100,
        food_cost=None if target is None else exact(target) / 100,
    )
