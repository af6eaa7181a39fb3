"""Read what the shop says of cooking a case line: the same words as on a Fire Sheet."""

from __future__ import annotations

from collop.fire.problem import METHODS
from collop.fire.reading_items import LONGEST_HOLD, LONGEST_REST, TREATMENTS, read_body
from collop.spread.problem import Cook
from collop.wire import Reader

__all__ = ["read_cook"]

_KEYS = ("method", "body", "treatment", "rest_min", "hold_min", "carve", "done_f")


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
        body=read_body(cook),
        treatment=cook.choice("treatment", TREATMENTS, "whole"),
        rest_min=cook.whole("rest_min", 0, LONGEST_REST, None),
        hold_min=cook.whole("hold_min", 0, LONGEST_HOLD, None),
        carve=cook.text("carve", None),
        done_c=None if done_f is None else (done_f - 32) / 1.8,
    )
