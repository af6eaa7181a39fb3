"""The Fire Sheet on paper: one page, 12 pt at least, clock times 16 pt.

Where a sheet does not fit one page, lines are left out by a stated order (`ORDER`), never made
smaller. Cautions, don't-eats, published minimums, the times of each thing and what was taken as
given that can hurt are never left out: should they alone pass a page, a second page follows.
"""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from itertools import accumulate
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from collop.fire.paper_blocks import BEFORE_KINDS, Keep, blocks
from collop.fire.paper_foot import carve_groups
from collop.fire.paper_text import fonts_ready
from collop.fire.plan_measures import SAFETY_ASKS

__all__ = ["ORDER", "PAPERS", "fire_pdf"]

#: Papers by their key, with width and height [pt].
PAPERS: dict[str, tuple[float, float]] = {"a4": A4, "letter": LETTER}
_MARGIN = 21.0  # printers leave about 6 mm
_GIVEN, _MORE_GIVEN, _MORE_CARVING = (
    "what was taken as given",
    "more taken as given",
    "more carving",
)
#: What is put on the sheet as long as it fits, the most needed first: a field of `Keep`, its
#: value, and how it is told where it is left out. A later line may find room that an earlier
#: one did not.
ORDER: tuple[tuple[str, int, str], ...] = (
    ("bars", 1, "bars"),
    ("before", 1, "what comes before"),
    ("assumptions", 1, _GIVEN),
    ("carve", 1, "carving"),
    ("assumptions", 3, _MORE_GIVEN),
    *(("carve", lines, _MORE_CARVING) for lines in (2, 3, 4, 5, 6, 60)),
    ("hatched", 1, ""),
    ("assumptions", 5, _MORE_GIVEN),
    ("assumptions", 60, _MORE_GIVEN),
    ("rests", 1, "rests"),
    ("before", 2, "fridge"),
    ("before", 3, "salt"),
    ("after", 1, "leftovers"),
    ("steps", 1, "steps"),
    ("steps", 2, "turning"),
)


def fire_pdf(plan: dict[str, Any], sheet: dict[str, Any]) -> bytes:
    """Return the Fire Sheet as a PDF file of one page.

    Parameters
    ----------
    plan : dict
        A ``collop.fire.plan/1`` object.
    sheet : dict
        ``address``: what the code leads to (left out: no code); ``short``: the address as it is
        printed (left out: `address`); ``paper``: ``letter`` (if left out) or ``a4``.

    Returns
    -------
    bytes
        The same for the same plan and sheet.
    """
    fonts_ready()
    width, height = PAPERS[sheet.get("paper") or "letter"]
    room_wide, room_tall = width - 2 * _MARGIN, height - 2 * _MARGIN
    parts = _fitting(plan, sheet, room_wide, room_tall)
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), invariant=1)
    canvas.setTitle(f"Your fire: {plan['name']}")
    canvas.setAuthor("collop")
    canvas.setSubject("What to do at the fire, when, and to which temperature")
    _draw(canvas, parts, height - _MARGIN, room_wide, room_tall)
    canvas.save()
    return file.getvalue()


def _fitting(plan: dict[str, Any], sheet: dict[str, Any], wide: float, tall: float) -> list[Any]:
    """Return the parts of the fullest sheet, in the order of `ORDER`, that is one page."""
    keep = Keep(assumptions=_can_hurt(plan))
    parts = blocks(plan, sheet, wide, keep, _left_out(plan, keep))
    for name, value, _ in ORDER:
        has = getattr(keep, name)
        if has >= value or has < _before_it(name, value):
            continue
        fuller = replace(keep, **{name: type(getattr(keep, name))(value)})
        found = blocks(plan, sheet, wide, fuller, _left_out(plan, fuller))
        if sum(part.height for part in found) <= tall:
            keep, parts = fuller, found
    return parts


def _can_hurt(plan: dict[str, Any]) -> int:
    """Return how many lines were taken as given that answer a question of safety; all are told."""
    asks = [one["ask"] for one in plan["assumptions"]]
    return max((at for at, ask in enumerate(asks, 1) if ask in SAFETY_ASKS), default=0)


def _before_it(name: str, value: int) -> int:
    """Return the lesser value of a field that must be there before a greater one."""
    lesser = [less for field, less, _ in ORDER if field == name and less < value]
    return max(lesser, default=0)


def _left_out(plan: dict[str, Any], keep: Keep) -> list[str]:
    """Return in words what the plan holds and the sheet does not."""
    held = {
        "bars": any(item["loads"] for item in plan["items"]),
        "rests": keep.bars,
        "hatched": 0,
        "before": max((BEFORE_KINDS[one["kind"]] for one in plan["before"]), default=0),
        "steps": bool(plan["steps"]) * 2,
        "assumptions": len(plan["assumptions"]),
        "carve": len(carve_groups(plan)),
        "after": bool(plan["after"]),
    }
    words: dict[str, str] = {}
    for name, value, word in ORDER:
        if held[name] and getattr(keep, name) < min(value, held[name]):
            words.setdefault(name, word)
    return list(words.values())


def _draw(canvas: Canvas, parts: list[Any], top: float, width: float, room: float) -> None:
    """Draw parts below each other; a part that does not fit begins a further page."""
    ends = list(accumulate(part.height for part in parts))
    offset = 0.0
    for part, end in zip(parts, ends, strict=True):
        start = end - part.height
        if end - offset > room + 0.01 and start > offset:
            canvas.showPage()
            offset = start
        part.draw(canvas, _MARGIN, top - (start - offset), width)
