"""Read what the shop says of cooking a case line: the same words as on a Fire Sheet."""

from __future__ import annotations

from collop.fire.problem import FORMS, METHODS, Body
from collop.fire.reading_items import LONGEST_HOLD, LONGEST_REST, TREATMENTS
from collop.spread.problem import Cook
from collop.wire import Reader

__all__ = ["read_cook"]

_KEYS = ("method", "body", "treatment", "rest_min", "hold_min", "carve", "done_f")
_BODY_KEYS = ("form", "thickness_mm", "measured", "shape", "start_c", "fat_rich", "bone")


def read_cook(row: Reader) -> Cook | None:
    """Return the ``cook`` of an offer, or None where it says nothing.

    Raises
    ------
    BadValue
        With the path of the first bad value.
    """
    if not row.has("cook"):
        return None
    cook = Reader(row.value["cook"], row.where("cook"), _KEYS)
    done_f = cook.number("done_f", 32.0, 212.0, None)
    return Cook(
        method=cook.choice("method", METHODS) if cook.has("method") else None,
        body=_body(cook),
        treatment=cook.choice("treatment", TREATMENTS, "whole"),
        rest_min=cook.whole("rest_min", 0, LONGEST_REST, None),
        hold_min=cook.whole("hold_min", 0, LONGEST_HOLD, None),
        carve=cook.text("carve", None),
        done_c=None if done_f is None else (done_f - 32) / 1.8,
    )


def _body(cook: Reader) -> Body | None:
    if not cook.has("body"):
        return None
    body = Reader(cook.value["body"], cook.where("body"), _BODY_KEYS)
    return Body(
        form=body.choice("form", FORMS),
        thickness_mm=body.number("thickness_mm", 2.0, 400.0),
        measured=body.flag("measured", default=False),
        shape=body.number("shape", 0.0, 2.0, None),
        start_c=body.number("start_c", -1.0, 25.0, 4.0),
        fat_rich=body.flag("fat_rich", default=False),
        bone=body.flag("bone", default=False),
    )
