"""A published mean yield and the shop's own cutting tests, combined into one."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import combine_yields
from collop.web.rendering import page
from collop.web.room import Queried
from collop.web.yields_sheet import Sheet

__all__ = ["router"]

router = APIRouter()
_PARTS, _TESTS = 20, 4
_PART_FIELDS = ("part{}", "pub{}", *(f"t{test}_{{}}" for test in range(1, _TESTS + 1)))


@router.get("/yields/combine", response_class=HTMLResponse)
def show_combined(request: Request, fields: Queried) -> HTMLResponse:
    """Show published yields and own tests, combined if something was entered."""
    sheet = Sheet(fields, "pub1")
    asked = "part1" in fields
    plan = sheet.work_out(combine_yields, _problem(sheet)) if asked else None
    return page(
        request, "yields_combine.html", status=422 if sheet.faults else 200, sheet=sheet,
        faults=sheet.faults, plan=plan, tests=range(1, _TESTS + 1),
        rows=sheet.rows(_PART_FIELDS, least=6, most=_PARTS),
    )  # fmt: skip


def _problem(sheet: Sheet) -> dict[str, Any]:
    """Return the ``collop.yields/1`` object of a sheet."""
    parts = _parts(sheet)
    spread = sheet.amount("sd", "Spread between carcasses", "$.published.sd", high="50")
    worth = sheet.amount("worth", "Counts as so many carcasses", "$.published.worth", high="1000")
    published: dict[str, Any] = {
        "shares": _published_shares(sheet, parts),
        "source": sheet.one("source")[:200],
    }
    if spread is not None:
        published["sd"] = float(Decimal(spread) / 100)
    if worth is not None:
        published["worth"] = float(Decimal(worth))
    return {
        "schema": "collop.yields/1",
        "name": sheet.one("name")[:80],
        "published": published,
        "tests": _tests(sheet, parts),
        "half_life_days": sheet.whole("half_life", "Days until a test counts half",
                                      "$.half_life_days", low=1, high=100_000),
        "next_weight": sheet.weight("next", "Next carcass", "$.next_weight", unit="lb"),
    }  # fmt: skip


def _parts(sheet: Sheet) -> dict[int, str]:
    """Return the parts by line; names must differ, as they are the keys of every set."""
    found: dict[int, str] = {}
    for row in sheet.used(_PART_FIELDS, _PARTS):
        name, label = f"part{row}", f"Part {row}"
        part = sheet.part(name, label, f"$.published.part{row}")
        if part and part in found.values():
            sheet.faults.add(name, f"{label}: {part!r} is there twice; join the two lines.")
        found[row] = part
    if len(found) < 2:
        sheet.faults.add("part1", "Part 1: enter two parts or more; what is lost is a part too.")
    return found


def _published_shares(sheet: Sheet, parts: dict[int, str]) -> dict[str, float]:
    """Return the published percents by part."""
    path = "$.published.shares"
    sheet.stands_for(path, "pub1", "Published shares")
    found = {}
    for row, part in parts.items():
        label = f"Published share of {part or f'part {row}'}"
        share = sheet.amount(f"pub{row}", label, f"{path}.{part}", high="100", needed=True)
        if share is not None:
            found[part] = float(Decimal(share))
    return found


def _tests(sheet: Sheet, parts: dict[int, str]) -> list[dict[str, Any]]:
    """Return the tests that hold a weight; an empty part of such a test weighed nothing."""
    tests: list[dict[str, Any]] = []
    for test in range(1, _TESTS + 1):
        label = sheet.one(f"label{test}")[:60] or f"Test {test}"
        names = [f"t{test}_{row}" for row in parts]
        if not any(sheet.one(name) for name in names):
            continue
        path = f"$.tests[{len(tests)}]"
        sheet.stands_for(path, names[0], label)
        sheet.stands_for(f"{path}.weights", names[0], f"{label}, weights")
        weights = {
            part: sheet.weight(f"t{test}_{row}", f"{label}, {part or f'part {row}'}",
                               f"{path}.weights.{part}", unit="lb") or "0"
            for row, part in parts.items()
        }  # fmt: skip
        age = sheet.whole(f"age{test}", f"{label}, age in days", f"{path}.age_days",
                          low=0, high=100_000)  # fmt: skip
        tests.append({"label": label, "weights": weights, "unit": "lb", "age_days": age or 0})
    return tests
