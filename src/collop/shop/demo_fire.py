"""How the demo's lines cook, and the fires of two of its orders: invented, as all of the demo."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from collop.shop.acts import Act
from collop.shop.demo_rail import demo_table
from collop.shop.fire_cooks import set_cook
from collop.shop.fire_dont_eats import dont_eats_of
from collop.shop.fire_facts import note_facts
from collop.shop.fire_model import CaseCook, FireFacts

__all__ = ["demo_cooks", "seed_cooks", "seed_fires"]


def demo_cooks() -> dict[str, CaseCook]:
    """Return how the demo's lines cook, by their ids; those nobody told of are not in it."""
    return {row["case_id"]: _cook(row) for row in demo_table("cook.csv")}


def _cook(row: dict[str, str]) -> CaseCook:
    return CaseCook(
        form=row["form"] or None,
        thickness_mm=Decimal(row["thickness_mm"]) if row["thickness_mm"] else None,
        measured=row["measured"] == "yes",
        shape=Decimal(row["shape"]) if row["shape"] else None,
        method=row["method"] or None,
        fat_rich=row["fat_rich"] == "yes",
        bone=row["bone"] == "yes",
        done_f=int(row["done_f"]) if row["done_f"] else None,
        carve=row["carve"],
    )


def seed_cooks(act: Act) -> None:
    """Write how each line cooks."""
    for case_id, cook in demo_cooks().items():
        set_cook(act, case_id, cook)


def seed_fires(act: Act, there: Collection[int]) -> None:
    """Write what two orders told of their fire, those whose booking is there."""
    for row in demo_table("fires.csv"):
        number = int(row["order"].removeprefix("H"))
        if number in there:
            note_facts(replace(act, by="dot"), number, _facts(row))


def _facts(row: dict[str, str]) -> FireFacts:
    def whole(name: str) -> int | None:
        return int(row[name]) if row[name] else None

    told = {"dont_eats": [part.strip() for part in row["dont_eats"].split(";") if part.strip()]}
    return FireFacts(
        kind=row["kind"],
        area_sq_in=Decimal(row["area_sq_in"]) if row["area_sq_in"] else None,
        usable_pct=whole("usable_pct"),
        coals_min=whole("coals_min"),
        covered=row["covered"] == "yes",
        oven=row["oven"] == "yes",
        pots=whole("pots"),
        serve=(datetime.fromisoformat(row["serve"]),),
        ride_min=whole("ride_min"),
        hands=whole("hands"),
        dont_eats=dont_eats_of(told),
    )
