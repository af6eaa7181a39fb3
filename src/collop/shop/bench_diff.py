"""What differs between two cutting plans, in short sentences: only what changed is told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

__all__ = ["differences"]

#: A cut's worth is told when it moved by more than this share and this much money.
_SHARE, _MONEY = Decimal("0.1"), Decimal("0.25")
#: Of so many cuts at most.
_MOST_WORTHS = 3
_CENT = Decimal("0.01")
_MORE = {"lb": "a pound more", "kg": "a kilogram more"}
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


def _changed(old: _Plan, new: _Plan) -> Iterator[str]:
    """Yield breaks that came, went, or are cut in another style."""
    before, after = _breaks(old), _breaks(new)
    there = {one["tag"] for one in new["pieces"]}
    for key, was in before.items():
        if key not in after:
            still = "hangs on" if was["tag"] in there else "is off the rail"
            yield f"{key} {still}: its break of {_day(was['date'])} is gone from the plan."
    for key, one in after.items():
        if key not in before:
            yield f"{key} is broken {_day(one['date'])}: {one['style_name']}."
        elif before[key]["style"] != one["style"]:
            yield f"{key} is cut as {one['style_name']}, not {before[key]['style_name']}."


def _moved(old: _Plan, new: _Plan) -> Iterator[str]:
    """Yield breaks on another day, but for pairs of one kind and style that trade their days."""
    before, after = _breaks(old), _breaks(new)
    moves: list[tuple[str, tuple[str, ...], str, str]] = []
    for key, one in after.items():
        was = before.get(key)
        if was is None or was["date"] == one["date"]:
            continue
        like = (one["kind"], one["style"], was["style"])
        trade = next((other for other in moves if other[1:] == (like, one["date"], was["date"])),
                     None)  # fmt: skip
        if trade is not None:
            moves.remove(trade)
        else:
            moves.append((key, like, was["date"], one["date"]))
    for key, _like, first, then in moves:
        yield f"{key} moves from {_day(first)} to {_day(then)}."


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
    """Yield the cuts whose worth moved most, on the first day both plans know."""
    day = next((one for one in new["days"] if one in old["days"]), None)
    if day is None:
        return
    before = {cut["id"]: cut for cut in old["cuts"]}
    found: list[tuple[Decimal, str]] = []
    for cut in new["cuts"]:
        if cut["id"] not in before:
            continue
        was, now = _worth(old, before[cut["id"]], day), _worth(new, cut, day)
        if was is None or now is None:
            continue
        step = abs(now - was)
        if step > _MONEY and step > _SHARE * abs(was):
            more = _MORE.get(new["unit"], f"one {new['unit']} more")
            worth = f"is worth {_cents(now)}, was {_cents(was)}"
            found.append((step, f"{cut['name']}: {more} {worth}."))
    for _step, said in sorted(found, key=lambda one: -one[0])[:_MOST_WORTHS]:
        yield said


def _cents(amount: Decimal) -> str:
    return f"{amount.quantize(_CENT, ROUND_HALF_UP):f}"


def differences(old_plan: _Plan, new_plan: _Plan) -> tuple[str, ...]:
    """Return one sentence for each thing that differs.

    In the order of what it means for promises: bookings now short, less or more short, or covered;
    breaks that came, went or are cut in another style; those on another day, unless two pieces of
    one kind and style only trade their days; the three cuts whose worth moved most, if by over a
    tenth and 0.25.

    Parameters
    ----------
    old_plan, new_plan : mapping
        ``collop.bench.plan/1``.
    """
    return (
        *_bookings(old_plan, new_plan), *_changed(old_plan, new_plan),
        *_moved(old_plan, new_plan), *_worths(old_plan, new_plan),
    )  # fmt: skip
