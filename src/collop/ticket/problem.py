"""A ticket to be printed, as it was read: paper, shop, product, weight, price, lot, codes."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.rules.labelling import Product
from collop.ticket.layout_model import Form

__all__ = ["PLAN_ID", "SCHEMA_ID", "EanPlace", "Shop", "TicketProblem", "Weighed"]

SCHEMA_ID = "collop.ticket/1"
PLAN_ID = "collop.ticket.plan/1"


@dataclass(frozen=True, slots=True)
class Shop:
    """Who packed it: name, place, and number of the establishment; empty where there is none."""

    name: str
    place: str = ""
    establishment: str = ""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the scale said.

    Parameters
    ----------
    gross, tare : Weight
        With the packing, and the packing alone.
    division, capacity : Weight
        As on the plate of the scale.
    unit : WeightUnit
        Pounds or kilograms.
    places : int
        Decimals of a reading.
    assumed : tuple of str
        What of this was not told, in sentences.
    """

    gross: Weight
    tare: Weight
    division: Weight
    capacity: Weight
    unit: WeightUnit
    places: int
    assumed: tuple[str, ...] = ()

    @property
    def other(self) -> WeightUnit:
        """Return the unit that is shown beside."""
        return WeightUnit.KG if self.unit is WeightUnit.LB else WeightUnit.LB


@dataclass(frozen=True, slots=True)
class EanPlace:
    """Place and prefix of a number of 13 digits; see `collop.ticket.variable.STRUCTURES`."""

    place: str = "us"
    prefix: str = "02"


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketProblem:
    """One ticket.

    Parameters
    ----------
    ticket, trace : str or None
        Number of the ticket; what the trace code says before the lot, the ticket's number if None.
    form : Form
        Paper and resolution.
    item, gtin : str or None
        The shop's item reference; trade item number of 14 digits.
    codes : tuple of str
        Kinds of bar code, each once.
    weight_unit_also : bool
        Show the other unit of weight beside.
    """

    ticket: str | None
    trace: str | None
    form: Form
    shop: Shop
    product: Product
    weighed: Weighed
    price: UnitPrice
    lot: str
    item: str | None
    gtin: str | None
    codes: tuple[str, ...]
    ean: EanPlace
    rounding: Rounding
    weight_unit_also: bool

    @property
    def amount(self) -> Decimal:
        """Return the unit price."""
        return self.price.amount
