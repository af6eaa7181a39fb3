"""A lot of packages that was checked, read from JSON: labels, readings, tares, the scale.

Every weight is an exact fraction of the lot's unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.measures import WeightUnit
from collop.rules.netweight_tables import (
    CATEGORIES,
    PRODUCTS,
    Allowance,
    SamplingPlan,
    allowance_for,
    sampling_plan,
)
from collop.rules.weighing_scale import is_permitted_division
from collop.wire import Reader

__all__ = ["MOST_LOT", "SCHEMA_ID", "UNITS", "CheckedLot", "Package", "division_text", "read_lot"]

SCHEMA_ID = "collop.netweight/1"
UNITS = tuple(unit.value for unit in WeightUnit)
#: Packages in a lot, at the most.
MOST_LOT = 1_000_000
_HIGHEST = "100000"
_KEYS = ("schema", "name", "lot_size", "unit", "category", "product", "label", "tare", "division",
         "capacity", "packages")  # fmt: skip
_PACKAGE_KEYS = ("name", "label", "gross", "tare", "net")


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """One package: what its label says and what is in it, in the lot's unit.

    Parameters
    ----------
    name : str
        Its name, or its number among those checked.
    label, net : Fraction
        Labelled net weight, above zero, and the net weight found, zero or more.
    gross : Fraction or None
        With its packaging, if it was weighed so.
    allowance : Allowance
        How short it may be.
    """

    name: str
    label: Fraction
    net: Fraction
    gross: Fraction | None
    allowance: Allowance

    @property
    def error(self) -> Fraction:
        """Return net less label: below zero is short."""
        return self.net - self.label


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedLot:
    """A lot and those of its packages that were checked.

    Parameters
    ----------
    plan : SamplingPlan
        How many are checked, and how.
    size, sample : int
        Packages in the lot; packages to check.
    division, capacity : Fraction or None
        Of the scale, in the lot's unit.
    """

    name: str
    unit: WeightUnit
    category: str
    product: str
    size: int
    sample: int
    plan: SamplingPlan
    division: Fraction | None
    capacity: Fraction | None
    packages: tuple[Package, ...]

    @property
    def is_random(self) -> bool:
        """Tell whether the packages carry different net weights."""
        return len({package.label for package in self.packages}) > 1


def read_lot(value: object) -> CheckedLot:
    """Read a checked lot.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.netweight/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    size = top.whole("lot_size", 1, MOST_LOT)
    category = top.choice("category", CATEGORIES, "A")
    product = top.choice("product", PRODUCTS, PRODUCTS[0])
    unit = WeightUnit(top.choice("unit", UNITS, "lb"))
    plan = sampling_plan(category, size)
    sample = min(plan.size, size)
    division = _scale(top, "division")
    if division is not None and not is_permitted_division(division):
        raise top.fail(
            "division", "is none a scale may have; it is 1, 2 or 5 times a power of ten."
        )
    return CheckedLot(
        name=top.text("name", "") or "",
        unit=unit,
        category=category,
        product=product,
        size=size,
        sample=sample,
        plan=plan,
        division=division,
        capacity=_scale(top, "capacity"),
        packages=tuple(
            _package(row, number, top, division, unit, category=category, product=product)
            for number, row in enumerate(_rows(top, sample), 1)
        ),
    )


def _scale(top: Reader, key: str) -> Fraction | None:
    if not top.has(key):
        return None
    found = Fraction(top.decimal(key, high=_HIGHEST))
    if not found:
        raise top.fail(key, "is zero; see the plate of the scale.")
    return found


def _rows(top: Reader, sample: int) -> list[Reader]:
    found = top.items("packages")
    if not found:
        raise top.fail("packages", f"names none; check {sample} of this lot.")
    if len(found) > sample:
        raise top.fail(
            "packages",
            f"names {len(found)}; {sample} of a lot of this size are checked, so give those that "
            "were drawn.",
        )
    return [Reader(value, path, _PACKAGE_KEYS) for path, value in top.each("packages")]


def _package(
    row: Reader, number: int, top: Reader, division: Fraction | None, unit: WeightUnit, *,
    category: str, product: str,
) -> Package:  # fmt: skip
    label = _amount(row, "label", top)
    if label is None:
        raise row.fail("label", "is missing; give it here or once for the lot in $.label.")
    if not label:
        raise row.fail("label", "is zero; write the net weight that stands on the package.")
    return Package(
        name=row.text("name", "") or str(number),
        label=Fraction(label),
        net=_net(row, top, division),
        gross=Fraction(row.decimal("gross", high=_HIGHEST)) if row.has("gross") else None,
        allowance=allowance_for(Fraction(label), unit, category, product),
    )


def _amount(row: Reader, key: str, top: Reader) -> Decimal | None:
    """Return an amount of a package, or that of the whole lot."""
    holder = row if row.has(key) else top
    found: Decimal | None = holder.decimal(key, None, high=_HIGHEST)
    return found


def _net(row: Reader, top: Reader, division: Fraction | None) -> Fraction:
    if row.has("net"):
        if row.has("gross"):
            raise row.fail("net", "is given beside gross; keep one of the two.")
        return Fraction(row.decimal("net", high=_HIGHEST))
    if not row.has("gross"):
        raise row.fail("gross", "is missing; weigh the package, or give its net weight in net.")
    gross, tare = Fraction(row.decimal("gross", high=_HIGHEST)), _amount(row, "tare", top)
    if tare is None:
        raise row.fail("tare", "is missing; weigh the dry packaging, or give it once in $.tare.")
    if division is not None and (gross / division).denominator != 1:
        step = division_text(division)
        raise row.fail("gross", f"is no reading of a scale with steps of {step}; read it again.")
    if top.has("capacity") and gross > Fraction(top.decimal("capacity", high=_HIGHEST)):
        raise row.fail("gross", "is over the capacity of the scale; check what was written.")
    if Fraction(tare) > gross:
        raise row.fail("tare", "is over the gross weight; weigh the dry packaging again.")
    return gross - Fraction(tare)


def division_text(division: Fraction) -> str:
    """Return a division as it is written on a scale."""
    return f"{Decimal(division.numerator) / Decimal(division.denominator):f}"
