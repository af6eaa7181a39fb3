"""Monday's mince lot and links of the demo week: invented, as all of the demo.

What they are made of is trim and fat that was left of an animal before the ones that hang. What was
made of it lies in the case on Tuesday.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.clock import DEMO_START
from collop.shop.demo_rail import demo_table
from collop.shop.ledger import receive
from collop.shop.lots import CUT, NewLot, cut_from, make_lot
from collop.shop.making_closing import close, lose, note
from collop.shop.making_closing_later import fill
from collop.shop.making_lots import Begun, begin
from collop.shop.making_lots_state import making_row
from collop.shop.making_model import BATCH, MINCE, NewMaterial
from collop.shop.making_parts import add

__all__ = ["MADE_ON_MONDAY", "seed_makings"]

#: Case lines whose stock on Tuesday is what was made on Monday.
MADE_ON_MONDAY = frozenset({"C11", "C22"})
_LEFT_AT = datetime(2026, 6, 8, 10, 20)  # noqa: DTZ001 -- shop-local
_LEFT = (("B-40.07", "Trim", "trim", "30.2"), ("B-40.08", "Fat", "fat", "7.2"))
_FARM = "Upper Nimmock"
_LB = WeightUnit.LB


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _lb(text: str) -> Weight | None:
    return Weight.of(text, _LB) if text else None


def _leave(act: Act) -> None:
    """Bring in what was left of the animal before: this book begins with it."""
    for lot_id, what, place, pounds in _LEFT:
        weight = Weight.of(pounds, _LB)
        make_lot(act, NewLot(id=lot_id, kind="cut", species="beef", what=what, weight=weight,
                             since=act.at, farm=_FARM))  # fmt: skip
        receive(act, lot_id, weight, place)


def _material(row: dict[str, str], codes: dict[str, str]) -> NewMaterial:
    is_ingredient = row["kind"] == "ingredient"
    contains = tuple(word for word in row["contains"].split("; ") if word)
    return NewMaterial(
        weight=_lb(row["lb"]), what=row["what"], lot_id=codes.get(row["lot"], row["lot"]) or None,
        place=row["place"] or None, establishment=row["maker"], supplier_lot=row["supplier_lot"],
        produced_on=date.fromisoformat(row["produced_on"]) if row["produced_on"] else None,
        contains=contains if is_ingredient else None, is_ingredient=is_ingredient,
    )  # fmt: skip


def _made(act: Act, code: str, row: dict[str, str], days_left: dict[str, int]) -> None:
    """Weigh what was made into the case, under the name its stock has there."""
    weight = Weight.of(row["made_lb"], _LB)
    making = making_row(act.conn, code)
    kept = NewLot(
        id=row["lot"], kind="cut", species=row["species"], what=making.name, weight=weight,
        since=act.at, case_id=row["case_id"],
        use_by=DEMO_START.date() + timedelta(days=days_left[row["case_id"]]),
    )  # fmt: skip
    cut_from(act, making.lot_id, ("block", "case"), kept, CUT)
    note(act, making, "produced", lot_id=kept.id, weight=weight)


def seed_makings(act: Act) -> None:
    """Make Monday's mince and links of what was left, and close both records.

    The clean-downs they run between must be on record.
    """
    _leave(replace(act, at=_LEFT_AT))
    days_left = {row["id"]: int(row["days_left"]) for row in demo_table("scenario_case.csv")}
    parts = demo_table("making_parts.csv")
    codes: dict[str, str] = {}
    for row in demo_table("making.csv"):
        mine = [part for part in parts if part["making"] == row["making"]]
        then = replace(act, by=row["by"])
        first = _material(mine[0], codes)
        is_mince = row["kind"] == MINCE
        new = Begun(MINCE if is_mince else BATCH, row["name"], row["species"], row["machine"],
                    None if is_mince else row["case_id"], first)  # fmt: skip
        code = codes[row["making"]] = begin(replace(then, at=_at(row["at"])), new)
        for part in mine[1:]:
            add(replace(then, at=_at(part["at"])), code, _material(part, codes))
        _made(replace(then, at=_at(row["made_at"])), code, row, days_left)
    _close(act, codes)


def _close(act: Act, codes: dict[str, str]) -> None:
    for row in demo_table("making.csv"):
        code, at = codes[row["making"]], _at(row["closed_at"])
        then = replace(act, at=at, by=row["by"])
        if row["lost_lb"]:
            lose(then, code, Weight.of(row["lost_lb"], _LB), row["lost_why"], place="drip")
        if row["kind"] == MINCE:
            fill(then, code, no_carry_over=True)
        close(then, code)
