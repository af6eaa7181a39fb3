"""Cuts by any name, the yield grade of a beef carcass, and what is taken home."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import (
    COMMON_PRACTICE,
    CUTTINGS,
    SPECIES,
    STAGES,
    cuts_plan,
    take_home_plan,
    yield_grade_plan,
)
from collop.reference import FROM_MEMORY
from collop.web.forms import Faults, read_choice
from collop.web.rendering import page
from collop.web.room import Queried
from collop.web.yields_sheet import Sheet

__all__ = ["router"]

router = APIRouter()
#: How a figure that was not read in a source is marked; the others carry no mark.
MARKS = {"memory": FROM_MEMORY, "shop": COMMON_PRACTICE}
_MOST_FIND = 80


@router.get("/yields/cuts", response_class=HTMLResponse)
def show_cuts(request: Request, fields: Queried) -> HTMLResponse:
    """Show every cut that a name may mean."""
    faults = Faults()
    find, species = fields.one("find")[:_MOST_FIND], fields.one("species")
    if species:
        species = faults.take("species", lambda: read_choice(species, "Animal", SPECIES), "")
    plan = None if not find or faults else cuts_plan(find, species)
    return page(
        request, "yields_cuts.html", status=422 if faults else 200, faults=faults, plan=plan,
        find=find, species=species, animals=SPECIES, marks=MARKS,
    )  # fmt: skip


@router.get("/yields/grade", response_class=HTMLResponse)
def show_grade(request: Request, fields: Queried) -> HTMLResponse:
    """Show the grade of a beef carcass by both methods."""
    sheet = Sheet(fields, "fat")
    plan = sheet.work_out(yield_grade_plan, _grade_problem(sheet)) if "fat" in fields else None
    return page(
        request, "yields_grade.html", status=422 if sheet.faults else 200, sheet=sheet,
        faults=sheet.faults, plan=plan, marks=MARKS,
    )  # fmt: skip


def _grade_problem(sheet: Sheet) -> dict[str, Any]:
    return {
        "schema": "collop.yieldgrade/1",
        "adjusted_fat_in": sheet.amount("fat", "Fat over the ribeye", "$.adjusted_fat_in",
                                        high="3", needed=True),
        "kph_pct": sheet.amount("kph", "Kidney, pelvic and heart fat", "$.kph_pct", high="20",
                                needed=True),
        "ribeye_sq_in": sheet.amount("eye", "Ribeye area", "$.ribeye_sq_in", high="30",
                                     needed=True),
        "hot_carcass_lb": sheet.weight("hot", "Hot carcass weight", "$.hot_carcass_lb",
                                       unit="lb", needed=True),
    }  # fmt: skip


@router.get("/yields/take-home", response_class=HTMLResponse)
def show_take_home(request: Request, fields: Queried) -> HTMLResponse:
    """Show every weight from the live animal to what is taken home."""
    sheet = Sheet(fields, "weight")
    plan = sheet.work_out(take_home_plan, _home_problem(sheet)) if "weight" in fields else None
    return page(
        request, "yields_home.html", status=422 if sheet.faults else 200, sheet=sheet,
        faults=sheet.faults, plan=plan, animals=SPECIES, stages=STAGES, cuttings=CUTTINGS,
        marks=MARKS,
    )  # fmt: skip


def _home_problem(sheet: Sheet) -> dict[str, Any]:
    return {
        "schema": "collop.takehome/1",
        "species": sheet.choice("species", "Animal", "$.species", SPECIES),
        "animal": sheet.one("animal")[:60],
        "stage": sheet.choice("stage", "Weighed", "$.stage", STAGES),
        "weight_lb": sheet.weight("weight", "Weight", "$.weight_lb", unit="lb", needed=True),
        "live_shrink_pct": _percent(sheet, "live_shrink", "Lost on the road"),
        "dressing_pct": _percent(sheet, "dressing", "Dressing share"),
        "chill_loss_pct": _percent(sheet, "chill_loss", "Lost in the first day"),
        "days_hung": sheet.whole("days", "Days hung", "$.days_hung", low=0, high=120),
        "hang_loss_pct": _percent(sheet, "hang_loss", "Lost while hanging"),
        "cutting": sheet.choice("cutting", "Cut as", "$.cutting", CUTTINGS),
        "take_home_pct": _percent(sheet, "take_home", "Take-home share"),
    }


def _percent(sheet: Sheet, name: str, label: str) -> str | None:
    return sheet.amount(name, label, f"$.{name}_pct", high="100")
