"""Seeded animals of any number of cuts, and a shop that has one broken into sixty."""

from __future__ import annotations

import random
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.shop import (
    NewCaseLine,
    NewDelivery,
    NewPart,
    NewPiece,
    NewStyle,
    Shop,
    StillClock,
    create_shop,
)

CUTS = 60
TAG, PIECE = "B-60", "side of sixty cuts"


def animal(seed: int, cuts: int = CUTS) -> dict[str, Any]:
    """Return a ``collop.chalk/1`` problem: `cuts` cuts, one price just changed by hand."""
    random_ = random.Random(seed)
    weights = [random_.randint(30, 1800) for _ in range(cuts)]
    prices = [random_.randint(300, 2600) for _ in range(cuts)]
    sales = sum(w * p for w, p in zip(weights, prices, strict=True))
    lines: list[dict[str, Any]] = [
        {
            "id": f"K{at:02}", "name": f"cut {at}", "weight": _text(weight),
            "shrink": random_.choice([0.02, 0.03, 0.04]), "price": _text(price),
            "sold": _text(random_.randint(0, weight)),
        }
        for at, (weight, price) in enumerate(zip(weights, prices, strict=True))
    ]  # fmt: skip
    for line in random_.sample(lines, cuts // 10):
        line["cap"] = _text(round(Decimal(line["price"]) * 110))
        line["floor"] = _text(round(Decimal(line["price"]) * 85))
    lines[random_.randrange(cuts)]["fixed"] = _text(random_.randint(300, 2600))
    return {
        "schema": "collop.chalk/1",
        "cost": {
            "bought": _text(round(sales * 0.58 / 100)), "haulage": "35.00",
            "labour_minutes": "240", "labour_per_hour": "24.00",
        },
        "margin": 0.35,
        "cuts": lines,
        "credits": [{"name": "bone", "weight": "90.00", "value_per_unit": "0.20"}],
        "endings": {"step": "0.05"},
    }  # fmt: skip


def _text(hundredths: int) -> str:
    return str(Decimal(hundredths).scaleb(-2))


def shop_of_sixty(folder: Path) -> tuple[Shop, str]:
    """Return the demo shop with one more side on the rail, cut into sixty lines; and its tag."""
    shop = create_shop(f"sqlite:///{folder / 'shop.db'}", demo=True, clock=StillClock())
    random_ = random.Random(1)
    lines = [
        shop.cutting.add_case_line(
            NewCaseLine(
                f"side, cut {at}", "beef", _price(random_.randint(300, 2600)), keeps_days=5
            ),
            by="ines", key=f"line {at}",
        )
        for at in range(CUTS)
    ]  # fmt: skip
    sizes = [random_.randint(4, 20) for _ in lines]
    parts = [
        NewPart(f"cut {at}", "cut", "case", Fraction(size, 100 * sum(sizes)) * 78, line, 5)
        for at, (size, line) in enumerate(zip(sizes, lines, strict=True))
    ]
    rest = (("trim", "trim", 7), ("bone", "bone", 13), ("loss", "drip", 2))
    parts += [NewPart(kind, kind, place, Fraction(share, 100)) for kind, place, share in rest]
    style = NewStyle("sixty", "beef", PIECE, "sixty cuts", tuple(parts), labour_minutes=240)
    shop.cutting.add_style(style, by="ines", key="style")
    weight = Weight.of(320, WeightUnit.LB)
    side = NewPiece(TAG, "beef side", PIECE, weight)
    delivery = NewDelivery(
        TAG, "beef", "Upper Nimmock", [side], weight, temperature=Temperature.fahrenheit(36),
        papers=["inspection mark", "invoice"], price=_price(480), haulage=Money(4000, "USD"),
    )  # fmt: skip
    shop.cutting.receive(delivery, by="ines", key="receive")
    return shop, TAG


def _price(cents: int) -> UnitPrice:
    return UnitPrice.of(_text(cents), WeightUnit.LB, "USD")
