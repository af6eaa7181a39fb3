"""The sheets of the fire: how one piece heats, and what a core temperature over time comes to."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue
from collop.fire.lethality_reading import MOST_LOG
from collop.reference import cook_minimum
from collop.web.rendering import page
from collop.web.room import Queried
from collop.web.sums_sheet import SumSheet

__all__ = ["FIRE_SUMS", "router"]

router = APIRouter()
#: What there is: address, name, and what it answers.
FIRE_SUMS = (
    ("/fire-sums/heat", "How a piece heats", "When its core gets there, and how it rises at rest."),
    ("/fire-sums/lethality", "What a core over time comes to",
     "Counted against a published table; the published minimum stays the rule."),
)  # fmt: skip
SHAPES = {"slab": "flat", "cylinder": "long and round", "sphere": "ball"}
MEDIA = {"20": "covered grill or still oven", "33": "oven with a fan", "95": "water bath"}
TABLES = {
    "fsis-appendix-a-beef": "beef, pork, lamb",
    "fsis-appendix-a-chicken": "chicken",
    "fsis-appendix-a-turkey": "turkey",
}
TREATMENTS = ("whole", "tenderised", "injected", "rolled", "ground")
_SCALES = {"F": "°F", "C": "°C"}
# figures of the sheet's start, for raw lean meat; each can be typed over
_ALPHA_MM2_S, _K_W_MK, _REST_AIR_C = 0.13, 0.48, 21.0
# a temperature in both scales, as the kernels tell it
_PAIRS = {
    "C": re.compile(r"(-?[\d.]+ °F) \((-?[\d.]+ °C)\)"),
    "F": re.compile(r"(-?[\d.]+ °C) \((-?[\d.]+ °F)\)"),
}
_DEGREES = re.compile(r"-?\d{1,4}(?:[.,]\d{1,3})?")
_READING = re.compile(r"(-?\d{1,6}(?:\.\d{1,4})?)[\s;:,]+(-?\d{1,4}(?:\.\d{1,4})?)")


class FireSum(SumSheet):
    """A sheet with temperatures in one of two scales, which may be below zero."""

    __slots__ = ()

    @property
    def scale(self) -> str:
        """Return the scale of what is typed and told."""
        return "C" if self.one("scale") == "C" else "F"

    def degrees(self, name: str, label: str, path: str, *, needed: bool = False) -> float | None:
        """Read a temperature into degrees Celsius; None if it is empty."""
        self.stands_for(path, name, label)
        text = self.one(name).replace("\N{MINUS SIGN}", "-").removesuffix("°" + self.scale).strip()
        if not text and not needed:
            return None
        if not _DEGREES.fullmatch(text):
            self.faults.add(
                name, f"{label}: write degrees such as {'63' if self.scale == 'C' else '145'}."
            )
            return None
        return self.celsius(float(text.replace(",", ".")))

    def celsius(self, value: float) -> float:
        """Return a figure of the sheet's scale in degrees Celsius."""
        return value if self.scale == "C" else (value - 32) / 1.8

    def told(self, celsius: float) -> str:
        """Return a temperature in the sheet's scale, to a tenth."""
        value = celsius if self.scale == "C" else celsius * 1.8 + 32
        return f"{value:.1f} °{self.scale}"

    def own_first(self, text: str) -> str:
        """Return words of a kernel with the sheet's scale first wherever they give both."""
        return _PAIRS[self.scale].sub(r"\2 (\1)", text)

    def risen(self, kelvin: float) -> str:
        """Return a difference of temperatures in the sheet's scale."""
        value = kelvin if self.scale == "C" else kelvin * 1.8
        return f"{value:.1f} °{self.scale}"


@router.get("/fire-sums", response_class=HTMLResponse)
def show_all(request: Request) -> HTMLResponse:
    """Show what can be worked out."""
    return page(request, "fire_sums.html", sums=FIRE_SUMS)


@router.get("/fire-sums/heat", response_class=HTMLResponse)
def show_heat(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet of one piece, worked out if something stands on it."""

    def work_out(problem: object) -> dict[str, Any]:
        from collop.fire.heat import heat  # noqa: PLC0415 -- numpy is heavy

        return heat(problem)

    return _show(request, "fire_sums_heat.html", FireSum(fields, "thick"), _heat, work_out)


@router.get("/fire-sums/lethality", response_class=HTMLResponse)
def show_lethality(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet of a core over time, counted if something stands on it."""

    def work_out(problem: object) -> dict[str, Any]:
        from collop.fire.lethality_plan import lethality  # noqa: PLC0415 -- numpy is heavy

        return lethality(problem)

    return _show(
        request, "fire_sums_lethality.html", FireSum(fields, "history"), _lethality, work_out
    )


def _show(
    request: Request, template: str, sheet: FireSum,
    problem: Callable[[FireSum], dict[str, Any]], work_out: Callable[[object], dict[str, Any]],
) -> HTMLResponse:  # fmt: skip
    asked = sheet.main in sheet.fields
    plan = sheet.work_out(work_out, problem(sheet)) if asked else None
    if plan:
        for name in ("assumptions", "cautions"):
            plan[name] = [sheet.own_first(one) for one in plan.get(name, [])]
    return page(
        request, template, status=422 if sheet.faults else 200, sheet=sheet, faults=sheet.faults,
        plan=plan, sums=FIRE_SUMS, shapes=SHAPES, media=MEDIA, tables=TABLES, scales=_SCALES,
        treatments=TREATMENTS, least_hint=_least_hint(), most_log=MOST_LOG,
    )  # fmt: skip


def _least_hint() -> str:
    """Return the published minimums in both scales, which no wanted core may be under."""
    told = []
    for cook_as, who in (("whole", "whole cuts"), ("ground", "mince and links"),
                         ("poultry", "birds")):  # fmt: skip
        rule = cook_minimum(cook_as)
        rest = f" and {rule.rest_min} min rest" if rule.rest_min else ""
        told.append(f"{who} {rule.whole_fahrenheit} °F ({rule.whole_celsius} °C){rest}")
    return f"The least that is published: {', '.join(told)}."


def _heat(sheet: FireSum) -> dict[str, Any]:
    """Return the ``collop.heat/1`` object of a sheet."""
    thick = sheet.amount("thick", "Thickness", "$.half_thickness_m", high="400", needed=True)
    h = sheet.choice("medium_kind", "Heated in", "$.h_w_m2k", MEDIA)
    alpha = sheet.number("alpha", "Diffusivity", "$.alpha_m2_s", high="1")
    k = sheet.number("k", "Conductivity", "$.k_w_mk", high="10")
    rest = sheet.number("rest", "Minutes of rest", "$.rest.minutes", high="240")
    sheet.stands_for("$.rest", "rest", "Minutes of rest")
    return {
        "schema": "collop.heat/1",
        "name": sheet.one("name")[:80] or None,
        "shape": sheet.choice("shape", "Shape", "$.shape", SHAPES),
        "half_thickness_m": None if thick is None else float(thick) / 2000,
        "alpha_m2_s": (_ALPHA_MM2_S if alpha is None else alpha) * 1e-6,
        "k_w_mk": _K_W_MK if k is None else k,
        "h_w_m2k": float(h),
        "start_c": sheet.degrees("start", "Core at the start", "$.start_c", needed=True),
        "medium_c": sheet.degrees("medium", "Temperature around it", "$.medium_c", needed=True),
        "until_core_c": sheet.degrees("until", "Core wanted", "$.until_core_c", needed=True),
        "at_min": [float(one) for one in sheet.amounts("at", "Minutes", "$.at_min") or []],
        "rest": None if not rest else {"air_c": _REST_AIR_C, "minutes": rest},
    }


def _lethality(sheet: FireSum) -> dict[str, Any]:
    """Return the ``collop.lethality/1`` object of a sheet."""
    sheet.stands_for("$.history", "history", "Core over time")
    log = sheet.number("log", "Log reduction", "$.log_reduction", high="12")
    fat = sheet.number("fat", "Fat", "$.fat_pct", high="60")
    return {
        "schema": "collop.lethality/1",
        "table": sheet.choice("table", "Table", "$.table", TABLES),
        "treatment": sheet.choice("treatment", "Meat is", "$.treatment", TREATMENTS),
        "log_reduction": log,
        "fat_pct": fat,
        "history": sheet.faults.take("history", lambda: _history(sheet), None),
    }


def _history(sheet: FireSum) -> list[dict[str, float]]:
    lines = [line.strip() for line in sheet.one("history").splitlines() if line.strip()]
    if len(lines) < 2:
        raise BadValue("Core over time: write two lines or more, each minutes and degrees: 20 131.")
    found = []
    for number, line in enumerate(lines, 1):
        reading = _READING.fullmatch(line)
        if not reading:
            raise BadValue(
                f"Core over time: line {number} is not minutes and degrees, such as 20 131."
            )
        found.append({"min": float(reading[1]), "core_c": sheet.celsius(float(reading[2]))})
    return found
