"""Weeks of sales at their prices, and what is believed beforehand; read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import UnitFrame, read_unit_frame
from collop.chalk.demand_published import published_prior
from collop.wire import Reader

__all__ = ["SCHEMA_ID", "Prior", "Sale", "Weeks", "read_weeks"]

SCHEMA_ID = "collop.demand/1"
STATUSES = ("seen", "computed", "memory")
MOST_SALES = 2000
LEAST_SD, MOST_SD = 0.01, 10.0
MOST_ELASTICITY = 20.0
_KEYS = ("schema", "name", "currency", "rounding", "unit", "sales", "prior", "species", "cut",
         "enough")  # fmt: skip
_PRIOR_KEYS = ("elasticity", "sd", "source", "status", "say", "rows")


@dataclass(frozen=True, slots=True)
class Sale:
    """One period: its price per unit, the weight sold, and whether the case ran empty."""

    label: str
    price: Fraction
    quantity: Fraction
    sold_out: bool


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed beforehand: mean and spread of the elasticity, and where they are from."""

    elasticity: float
    sd: float
    source: str
    status: str
    say: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Weeks:
    """The whole problem; `enough` points make an own figure."""

    frame: UnitFrame
    sales: tuple[Sale, ...]
    prior: Prior
    enough: int


def read_weeks(value: object) -> Weeks:
    """Read one problem of demand.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.demand/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    return Weeks(
        frame=read_unit_frame(top),
        sales=tuple(_sales(top)),
        prior=_prior(top),
        enough=top.whole("enough", 3, 1000, 8),
    )


def _sales(top: Reader) -> Iterator[Sale]:
    if len(top.items("sales", [])) > MOST_SALES:
        raise top.fail("sales", f"has more than {MOST_SALES} lines; leave the oldest out.")
    for index, (path, value) in enumerate(top.each("sales", []), start=1):
        row = Reader(value, path, ("label", "price", "quantity", "sold_out"))
        price, quantity = (Fraction(row.decimal(key)) for key in ("price", "quantity"))
        # finer than any board or scale, and a logarithm would run away
        if price < Fraction(1, 10_000):
            raise row.fail("price", "must be 0.0001 or more; leave weeks without a price out.")
        if 0 < quantity < Fraction(1, 1000):
            raise row.fail("quantity", "is finer than a scale can read; use 0.001 or more, or 0.")
        yield Sale(
            row.text("label", None) or f"sale {index}",
            price,
            quantity,
            row.flag("sold_out", default=False),
        )


def _prior(top: Reader) -> Prior:
    species, cut = top.text("species", None), top.text("cut", None)
    if not top.has("prior"):
        found = published_prior(species or "", cut or "")
        return _as_prior(found)
    if species or cut:
        key = "species" if species else "cut"
        raise top.fail(key, "is given beside prior; keep one of the two.")
    row = Reader(top.value["prior"], "$.prior", _PRIOR_KEYS)
    row.items("rows", [])
    return _as_prior(
        {
            "elasticity": row.number("elasticity", 0.01, MOST_ELASTICITY),
            "sd": row.number("sd", LEAST_SD, MOST_SD),
            "source": row.text("source", ""),
            "status": row.choice("status", STATUSES, "memory"),
            "say": row.text("say", ""),
        }
    )


def _as_prior(found: dict[str, Any]) -> Prior:
    return Prior(found["elasticity"], found["sd"], found["source"], found["status"], found["say"])
