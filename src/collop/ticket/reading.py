"""Reading a ticket from JSON: unknown keys refused, and every missing element named at once."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from collop.errors import BadValue, ProblemError
from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.ticket.layout_model import FORMS, Form, form_of
from collop.ticket.problem import SCHEMA_ID, EanPlace, Shop, TicketProblem, Weighed
from collop.ticket.reading_product import PRODUCT_KEYS, missing_of, one_line, read_product
from collop.ticket.symbols import KINDS
from collop.ticket.variable import STRUCTURES
from collop.wire import Reader

__all__ = ["DEFAULT_SCALE", "MOST_CODES", "UNITS", "read_problem"]

UNITS = ("lb", "kg")
MOST_CODES = 6
#: Division and capacity of a usual counter scale (WM001, WM002; the capacity is from memory too).
DEFAULT_SCALE = {"lb": ("0.01", "30"), "kg": ("0.005", "15")}
_KEYS = (
    "schema", "ticket", "form", "shop", "product", "weight", "price", "lot", "packed", "use_by",
    "date_words", "codes", "trace", "rounding", "weight_unit_also", "keep_at_most_f",
    "vacuum_days", "ean13",
)  # fmt: skip
_LOW_DPI, _HIGH_DPI = 203, 300
_MOST_PLACES = 6


def read_problem(value: object) -> TicketProblem:
    """Read one ticket.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.ticket/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value; or one sentence with every element that is missing.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    shop = _part(top, "shop", ("name", "place", "establishment"))
    product = _part(top, "product", PRODUCT_KEYS)
    weight = _part(top, "weight", ("gross", "tare", "unit", "division", "capacity"))
    price = _part(top, "price", ("amount", "per", "currency"))
    if missing := [*_missing(top, shop, weight, price), *missing_of(top, product)]:
        raise ProblemError(
            f"The ticket cannot be printed without {_and(missing)}; fill in what is missing."
        )
    weighed = _weighed(weight)
    return TicketProblem(
        ticket=one_line(top, "ticket", 40) or None,
        trace=one_line(top, "trace", 40) or None,
        form=_form(top),
        shop=Shop(one_line(shop, "name", 60), one_line(shop, "place", 80),
                  one_line(shop, "establishment", 20)),
        product=read_product(top, product),
        weighed=weighed,
        price=_price(price, weighed.unit),
        lot=one_line(top, "lot", 40),
        item=one_line(product, "item", 14) or None,
        gtin=one_line(product, "gtin", 14) or None,
        codes=_codes(top),
        ean=_ean(top),
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        weight_unit_also=top.flag("weight_unit_also", default=True),
    )  # fmt: skip


def _part(top: Reader, key: str, keys: tuple[str, ...]) -> Reader:
    """Return an object of the problem; one that is left out has everything missing."""
    found = top.value.get(key)
    return Reader({} if found is None else found, f"$.{key}", keys)


def _missing(top: Reader, shop: Reader, weight: Reader, price: Reader) -> Iterator[str]:
    if not one_line(shop, "name", 60):
        yield "the shop's name"
    if not weight.has("gross"):
        yield "the weight on the scale"
    if not weight.has("tare"):
        yield "the tare (0 says that there is no packing)"
    if not price.has("amount"):
        yield "the price"
    if not one_line(top, "lot", 40):
        yield "the lot"
    if not top.has("packed"):
        yield "the day of packing"


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _form(top: Reader) -> Form:
    row = Reader(top.value.get("form"), "$.form", ("size", "dpi"))
    size = row.choice("size", list(FORMS))
    dpi = row.whole("dpi", _LOW_DPI, _HIGH_DPI, _LOW_DPI)
    return form_of(size, dpi)


def _weighed(row: Reader) -> Weighed:
    unit = row.choice("unit", UNITS, "lb")
    division, capacity = DEFAULT_SCALE[unit]
    assumed = []
    if not row.has("division"):
        assumed.append(f"The scale is taken to have steps of {division} {unit}.")
    if not row.has("capacity"):
        assumed.append(f"The scale is taken to weigh up to {capacity} {unit}.")
    step = row.decimal("division", None)
    step = Decimal(division) if step is None else step
    if not step:
        raise row.fail("division", "is zero; write the smallest step of the scale, such as 0.01.")
    most = row.decimal("capacity", None)
    places = max(0, -int(step.normalize().as_tuple().exponent))
    if places > _MOST_PLACES:
        raise row.fail("division", f"is {step}; a scale has steps such as 0.01.")
    return Weighed(
        gross=_weight(row, "gross", row.decimal("gross"), unit),
        tare=_weight(row, "tare", row.decimal("tare"), unit),
        division=_weight(row, "division", step, unit),
        capacity=_weight(row, "capacity", Decimal(capacity) if most is None else most, unit),
        unit=WeightUnit(unit),
        places=places,
        assumed=tuple(assumed),
    )


def _weight(row: Reader, key: str, amount: Decimal, unit: str) -> Weight:
    try:
        return Weight.of(amount, WeightUnit(unit))
    except BadValue as error:
        raise row.fail(key, f"is wrong: {error.message}") from None


def _price(row: Reader, unit: WeightUnit) -> UnitPrice:
    currency = row.currency()
    per = WeightUnit(row.choice("per", UNITS, unit.value))
    found = row.decimal("amount", high="100000")
    if not found:
        raise row.fail("amount", "is zero; a ticket needs a price above zero.")
    return UnitPrice(found, per, currency)


def _codes(top: Reader) -> tuple[str, ...]:
    found = top.texts("codes", [])
    if len(found) > MOST_CODES:
        raise top.fail("codes", f"asks for {len(found)} bar codes; a ticket has {MOST_CODES}.")
    for index, kind in enumerate(found):
        where = f"$.codes[{index}]"
        if kind not in KINDS:
            raise BadValue(f"{where} is {kind[:40]!r}; use one of {', '.join(KINDS)}.", where=where)
        if kind in found[:index]:
            raise BadValue(f"{where} asks for {kind} a second time; leave it out.", where=where)
    return found


def _ean(top: Reader) -> EanPlace:
    if not top.has("ean13"):
        return EanPlace()
    row = Reader(top.value["ean13"], "$.ean13", ("place", "prefix"))
    places: dict[str, Any] = {}
    for one in STRUCTURES:
        places.setdefault(one.place, []).extend(one.prefixes)
    place = row.choice("place", places, "us")
    return EanPlace(place, row.choice("prefix", places[place], places[place][0]))
