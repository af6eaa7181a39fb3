"""The rail of the demo week: how it came in, what it lost to air, and Monday's break."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from importlib import resources
from itertools import groupby

from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.breaking import load_break, start_break, weigh_part
from collop.shop.clock import DEMO_MONDAY
from collop.shop.closing import close_break
from collop.shop.knife_model import NewDelivery, NewPart, NewPiece, NewStyle
from collop.shop.lots import places_of
from collop.shop.railing import claim, hang, plan_break
from collop.shop.receiving import take_in
from collop.shop.styles import store_style

__all__ = ["FROM_THE_BREAK", "demo_table", "seed_break", "seed_claims", "seed_rail", "seed_styles"]

#: Case lines that are empty until Monday's forequarter is broken.
FROM_THE_BREAK = frozenset({"C07", "C08", "C09", "C10", "C15"})
_LB = WeightUnit.LB
# a lot is named by its meat, as the case is
_MEAT = {"pig": "pork", "goat kid": "goat"}
_WEIGHED_AT = DEMO_MONDAY - timedelta(minutes=30)
_BREAK_AT = DEMO_MONDAY + timedelta(hours=2, minutes=30)


def demo_table(name: str) -> list[dict[str, str]]:
    """Return the rows of one of the demo's tables."""
    folder = resources.files("collop.shop") / "demo"
    text = (folder / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _lb(text: str) -> Weight:
    return Weight.of(text, _LB)


def seed_styles(act: Act) -> None:
    """Write the demo's cutting styles."""
    for style_id, group in groupby(demo_table("styles.csv"), key=lambda row: row["style_id"]):
        rows = list(group)
        first = rows[0]
        parts = [
            NewPart(
                row["part"], row["kind"], row["place"], Fraction(row["share"]),
                row["case_id"] or None, int(row["keeps_days"]) if row["keeps_days"] else None,
            )
            for row in rows
        ]  # fmt: skip
        store_style(
            act.conn,
            NewStyle(style_id, first["species"], first["piece"], first["style"], parts,
                     int(first["minutes"]), "invented, of the demo"),
        )  # fmt: skip


def _arrived(row: dict[str, str]) -> datetime:
    day = DEMO_MONDAY.date() - timedelta(days=int(row["days_hung"]))
    return datetime.combine(day, DEMO_MONDAY.time()).replace(hour=7)


def _delivery(rows: list[dict[str, str]], more: dict[str, dict[str, str]], act: Act) -> NewDelivery:
    first = rows[0]
    about = more[first["tag"]]
    pieces = [
        NewPiece(row["tag"], row["what"], more[row["tag"]]["piece"], _lb(row["cold_weight_in_lb"]))
        for row in rows
    ]
    currency = act.settings.currency
    return NewDelivery(
        tag=about["animal"], species=_MEAT.get(first["species"], first["species"]),
        farm=first["supplier"], pieces=pieces,
        invoiced=_lb(about["invoiced_lb"]),
        killed_on=_arrived(first).date() - timedelta(days=int(about["killed_days_before"])),
        temperature=Temperature.fahrenheit(about["temperature_f"]),
        papers=("inspection mark", "invoice"),
        price=UnitPrice.of(about["price_per_lb"], _LB, currency),
        haulage=Money.of(about["haulage"], currency), establishment=about["establishment"],
    )  # fmt: skip


def seed_rail(act: Act) -> None:
    """Take the animals in on the days they came, and weigh each on Monday morning."""
    more = {row["tag"]: row for row in demo_table("rail_more.csv")}
    rows = demo_table("scenario_rail.csv")
    by_age: Iterable[dict[str, str]] = sorted(rows, key=lambda row: -int(row["days_hung"]))
    for _, group in groupby(by_age, key=lambda row: more[row["tag"]]["animal"]):
        delivered = list(group)
        take_in(replace(act, at=_arrived(delivered[0])), _delivery(delivered, more, act))
    for row in rows:
        then = replace(act, at=_WEIGHED_AT)
        hang(then, row["tag"], _lb(row["weight_now_lb"]))
        day = date.fromisoformat(more[row["tag"]]["break_on"])
        plan_break(then, row["tag"], day, row["planned_break"])


def seed_break(act: Act) -> None:
    """Break the forequarter on Monday morning, as the demo's break sheet says."""
    at = replace(act, at=_BREAK_AT, by="marek")
    number = start_break(at, "B-41F", "fore")
    parts = {part.name: part.id for part in load_break(act.conn, number).style.parts}
    for step, row in enumerate(demo_table("break_b41f.csv"), 1):
        then = replace(at, at=_BREAK_AT + timedelta(minutes=10 * step))
        weigh_part(then, number, parts[row["part"]], _lb(row["lb"]))
    close_break(replace(at, at=_BREAK_AT + timedelta(minutes=100)), number)


def seed_claims(act: Act) -> None:
    """Hang the freezer order on those of its pieces that hang."""
    for row in demo_table("claims.csv"):
        if not places_of(act.conn, row["tag"]).get("rail"):
            continue
        claim(act, int(row["order"].removeprefix("H")), row["tag"], _lb(row["lb"]), row["note"])
