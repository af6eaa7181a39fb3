"""A joint cost and what came of it: products, by-products, loss; read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import LEAST, Frame, above_zero, maybe, read_frame, read_unit
from collop.errors import BadValue
from collop.wire import Reader

__all__ = [
    "BY_PRODUCT_AS",
    "METHODS",
    "MOST_LINES",
    "SCHEMA_ID",
    "ByProduct",
    "Further",
    "Joint",
    "Product",
    "Went",
    "read_joint",
]

SCHEMA_ID = "collop.allocate/1"
METHODS = ("physical", "sales_value", "net_realisable", "constant_margin")
BY_PRODUCT_AS = ("less_cost", "other_income")
MOST_LINES = 500
_MOST_MONEY = "1000000000"
_KEYS = (
    "schema", "name", "currency", "rounding", "unit", "joint_cost", "method", "products",
    "by_products", "by_product_as", "input", "loss_quantity", "tolerance",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Further:
    """What a product becomes if it is worked on: quantity [its unit], price a unit, added cost."""

    quantity: Fraction
    unit: str
    price: Fraction
    cost: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A product that carries a share of the joint cost.

    Parameters
    ----------
    name, path, unit : str
        Its name, where it stands in the problem, the unit of `quantity`.
    quantity : Fraction
        Above zero.
    price : Fraction or None
        Money a unit; None if it is not known (physical measure only).
    separable : Fraction
        Money that this product alone costs after the split-off point.
    further : Further or None
        What it could become.
    """

    name: str
    path: str
    quantity: Fraction
    unit: str
    price: Fraction | None
    separable: Fraction
    further: Further | None

    @property
    def sales(self) -> Fraction | None:
        """Return the money it brings; None without a price."""
        return None if self.price is None else self.price * self.quantity


@dataclass(frozen=True, slots=True)
class ByProduct:
    """What carries no share: its name, path, quantity [unit], price a unit, cost of its own."""

    name: str
    path: str
    quantity: Fraction
    unit: str
    price: Fraction
    separable: Fraction


@dataclass(frozen=True, slots=True)
class Went:
    """What went in, what is known to be lost, and how closely it must close [`unit`]."""

    quantity: Fraction
    unit: str
    loss: Fraction
    tolerance: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One joint cost to be shared out.

    Parameters
    ----------
    cost : Fraction
        Money, a whole number of minor units.
    by_product_as : str
        ``less_cost`` or ``other_income``.
    went : Went or None
        None: the weights are not checked.
    """

    frame: Frame
    cost: Fraction
    method: str
    products: tuple[Product, ...]
    by_products: tuple[ByProduct, ...]
    by_product_as: str
    went: Went | None


def read_joint(value: object) -> Joint:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.allocate/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    unit = read_unit(top, "lb")
    method = top.choice("method", METHODS)
    products = tuple(_products(top, unit, method))
    if not products:
        raise top.fail("products", "names nothing; give at least one product.")
    frame = read_frame(top)
    return Joint(
        frame=frame,
        cost=_joint_cost(top, frame),
        method=method,
        products=products,
        by_products=tuple(_by_products(top, unit)),
        by_product_as=top.choice("by_product_as", BY_PRODUCT_AS, BY_PRODUCT_AS[0]),
        went=_went(top, unit),
    )


def _joint_cost(top: Reader, frame: Frame) -> Fraction:
    cost = Fraction(top.decimal("joint_cost", high=_MOST_MONEY))
    if (cost * 10**frame.places).denominator != 1:
        raise top.fail("joint_cost", f"has more decimals than {frame.currency}; round it first.")
    return cost


def _rows(top: Reader, key: str, keys: tuple[str, ...]) -> Iterator[Reader]:
    if len(top.items(key, [])) > MOST_LINES:
        raise top.fail(key, f"has more than {MOST_LINES} lines; join some of them.")
    for path, value in top.each(key, []):
        yield Reader(value, path, keys)


def _products(top: Reader, unit: str, method: str) -> Iterator[Product]:
    keys = ("name", "quantity", "unit", "price", "separable_cost", "further")
    for row in _rows(top, "products", keys):
        price = maybe(row, "price")
        if price is None and method != METHODS[0]:
            raise row.fail("price", f"is missing; {method} needs the price of every product.")
        own = read_unit(row, unit)
        yield Product(
            name=row.text("name"),
            path=row.path,
            quantity=above_zero(row, "quantity", least=LEAST),
            unit=own,
            price=price,
            separable=maybe(row, "separable_cost", high=_MOST_MONEY) or Fraction(0),
            further=_further(row, own, price),
        )


def _further(row: Reader, unit: str, price: Fraction | None) -> Further | None:
    if not row.has("further"):
        return None
    if price is None:
        raise row.fail("price", "is missing; going further is weighed against selling at it.")
    more = Reader(row.value["further"], row.where("further"), ("quantity", "unit", "price", "cost"))
    return Further(
        quantity=above_zero(more, "quantity", least=LEAST),
        unit=read_unit(more, unit),
        price=Fraction(more.decimal("price")),
        cost=maybe(more, "cost", high=_MOST_MONEY) or Fraction(0),
    )


def _by_products(top: Reader, unit: str) -> Iterator[ByProduct]:
    keys = ("name", "quantity", "unit", "price", "separable_cost")
    for row in _rows(top, "by_products", keys):
        yield ByProduct(
            name=row.text("name"),
            path=row.path,
            quantity=above_zero(row, "quantity", least=LEAST),
            unit=read_unit(row, unit),
            price=Fraction(row.decimal("price")),
            separable=maybe(row, "separable_cost", high=_MOST_MONEY) or Fraction(0),
        )


def _went(top: Reader, unit: str) -> Went | None:
    if not top.has("input"):
        for key in ("loss_quantity", "tolerance"):
            if top.has(key):
                where = top.where("input")
                raise BadValue(
                    f"{where} is missing; {key} needs to know what went in.", where=where
                )
        return None
    row = Reader(top.value["input"], "$.input", ("quantity", "unit"))
    return Went(
        quantity=above_zero(row, "quantity", least=LEAST),
        unit=read_unit(row, unit),
        loss=maybe(top, "loss_quantity") or Fraction(0),
        tolerance=maybe(top, "tolerance") or Fraction(0),
    )
