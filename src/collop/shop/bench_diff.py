"""What differs between two cutting plans, in short sentences: only what changed is told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

__all__ = ["differences"]

#: A cut's worth is told when it moved by more than this share and this much money.
_SHARE, _MONEY = Decimal("0.1"), Decimal("0.25")
_Plan = Mapping[str, Any]


def _day(text: str) -> str:
    day = date.fromisoformat(text)
    return f"{day:%a} {day.day} {day:%b}"


def _breaks(plan: _Plan) -> dict[str, _Plan]:
    return {one["id"]: one for one in plan["breaks"]}


def _short(plan: _Plan) -> dict[tuple[str, str], Decimal]:
    """Return what is short by booking and cut, or claim."""
    found: dict[tuple[str, str], Decimal] = {}
    for one in plan["short"]:
        key = (one["booking"], one["cut"] or "")
        found[key] = found.get(key, Decimal(0)) + Decimal(one["weight"])
    return found


def _names(*plans: _Plan) -> dict[str, str]:
    return {cut["id"]: cut["name"] for plan in plans for cut in plan["cuts"]}


def _moved(old: _Plan, new: _Plan) -> Iterator[str]:
    before, after = _breaks(old), _breaks(new)
    for key, one in after.items():
        was = before.get(key)
        if was is None:
            yield f"{key} is broken {_day(one['date'])}: {one['style_name']}."
            continue
        if was["date"] != one["date"]:
            yield f"{key} moves from {_day(was['date'])} to {_day(one['date'])}."
        if was["style"] != one["style"]:
            yield f"{key} is cut as {one['style_name']}, not {was['style_name']}."
    there = {one["tag"] for one in new["pieces"]}
    for key, was in before.items():
        if key not in after:
            still = "hangs on" if was["tag"] in there else "is off the rail"
            yield f"{key} {still}: its break of {_day(was['date'])} is gone from the plan."


def _bookings(old: _Plan, new: _Plan) -> Iterator[str]:
    before, after, names = _short(old), _short(new), _names(old, new)
    unit = new["unit"]
    for key, weight in after.items():
        was = before.get(key, Decimal(0))
        if weight != was:
            what = names.get(key[1], key[1]) or "its piece"
            more = f", {was:f} before" if was else ""
            yield f"{key[0]} is short {weight:f} {unit} of {what}{more}."
    known = {one["id"] for one in new["bookings"]} | {one["booking"] for one in new["claims"]}
    for key in before:
        if key not in after and key[0] in known:
            yield f"{key[0]} is covered: {names.get(key[1], key[1]) or 'its piece'}."


def _worth(plan: _Plan, cut: _Plan, day: str) -> Decimal | None:
    days = plan["days"]
    return Decimal(cut["worth"][days.index(day)]) if day in days else None


def _worths(old: _Plan, new: _Plan) -> Iterator[str]:
    """Yield cuts whose worth moved, on the first day both plans know."""
    day = next((one for one in new["days"] if one in old["days"]), None)
    if day is None:
        return
    before = {cut["id"]: cut for cut in old["cuts"]}
    for cut in new["cuts"]:
        if cut["id"] not in before:
            continue
        was, now = _worth(old, before[cut["id"]], day), _worth(new, cut, day)
        if was is None or now is None:
            continue
        step = abs(now - was)
        if step > _MONEY and step > _SHARE * abs(was):
            yield (
                f"One more {new['unit']} of {cut['name']} is worth {now:f} on {_day(day)},"
                f" {was:f} before."
            )


def differences(old_plan: _Plan, new_plan: _Plan) -> tuple[str, ...]:
    """Return one sentence for each thing that differs.

    Breaks that moved, came, went or are cut in another style; bookings now short, less or more
    short, or covered; cuts whose worth moved by over a tenth and 0.25.

    Parameters
    ----------
    old_plan, new_plan : mapping
        ``collop.bench.plan/1``.
    """
    return (
        *_moved(old_plan, new_plan), *_bookings(old_plan, new_plan), *_worths(old_plan, new_plan)
    )  # fmt: skip
