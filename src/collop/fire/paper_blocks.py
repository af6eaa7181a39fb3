"""The blocks of the printed Fire Sheet, from the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain
from typing import Any

from collop.fire.around import SALT_NOTE
from collop.fire.around_items import OUT_MIN
from collop.fire.paper_foot import carve_and_given, foot
from collop.fire.paper_parts import (
    OXBLOOD,
    Columns,
    Entry,
    Gap,
    Lines,
    Picture,
    Rule,
    beside,
    text,
)
from collop.fire.paper_steps import short_steps
from collop.fire.paper_sure import eaten, sure_lines, unsure_line
from collop.fire.paper_text import one_line, wrap, wrap_parts
from collop.fire.picture import HATCHED, fire_picture
from collop.fire.picture_rows import HEAT_WORDS, minimum_text, rows_of
from collop.words import day_text, said

__all__ = ["BEFORE_KINDS", "Keep", "blocks", "when_text"]

#: What comes before the fire, by the value of `Keep.before` from which it is told.
BEFORE_KINDS = {"thaw": 0, "ride": 1, "light": 1, "fridge": 2, "salt": 3}

_TITLE_PT = 24.0
# from so many lines of don't-eats on, so many are kept of each, or fewer
_DONT_LINES, _PLATE_LINES = 9, 3
_MARKS = {"raw": "R", "cooked": "C", "meat-free": "M"}
_OUT = f"Each out of the fridge {OUT_MIN} min before it goes on, and patted dry."
_MARK_WORDS = {"raw": "R raw tool", "cooked": "C cooked tool", "meat-free": "M meat-free tool"}


@dataclass(frozen=True, slots=True)
class Keep:
    """What the sheet holds beside what is never left out.

    Attributes
    ----------
    bars, hatched, rests : bool
        The bars with the bands; how their hatching is read; over each bar where it lies and how it
        rests.
    before : int
        What comes before the fire: 0 thawing alone, 1 lighting and the ride home too, 2 out of the
        fridge too, 3 all.
    steps : int
        The steps: 0 none, 1 what is put on, moved and taken off, 2 all.
    assumptions, carve : int
        Most lines of what was taken as given, and most carve lines.
    after : bool
        What is done with what is left over.
    """

    bars: bool = False
    hatched: bool = False
    before: int = 0
    steps: int = 0
    assumptions: int = 0
    carve: int = 0
    rests: bool = False
    after: bool = False


def when_text(at: str, *, day: bool = False) -> str:
    """Return a moment for people: the hour, with the day of the week if asked."""
    moment = datetime.fromisoformat(at)
    return day_text(moment, "%a %-d %b %H:%M") if day else f"{moment:%H:%M}"


def blocks(
    plan: dict[str, Any], sheet: dict[str, Any], width: float, keep: Keep, left_out: Sequence[str]
) -> list[Any]:
    """Return the parts of the sheet in their order.

    Parameters
    ----------
    plan, sheet : dict
        As `collop.fire.paper.fire_pdf` takes them.
    width : float
        Width of the page without its margins [pt].
    keep : Keep
        What stands on it.
    left_out : sequence of str
        What does not, in words.
    """
    made: list[Any] = [*_head(plan, width), *_dont_eats(plan, width, sheet), *_answer(plan, width)]
    made += _before(plan, width, keep)
    made += [Rule(), *_fire(plan, width, keep), *_steps(plan, width, keep)]
    made += carve_and_given(plan, width, keep.carve, keep.assumptions)
    return [*made, Rule(), *foot(
        plan, sheet, width, after=keep.after, salt=_has_salt(keep), left_out=left_out
    )]  # fmt: skip


def _has_salt(keep: Keep) -> bool:
    return keep.before >= BEFORE_KINDS["salt"]


def _head(plan: dict[str, Any], width: float) -> list[Any]:
    title = one_line("YOUR FIRE", width, all_bold=True, size=_TITLE_PT)
    room = width - title.width - 20
    first = datetime.fromisoformat(plan["serve"][0]["at"])
    hours = ", ".join(when_text(one["at"]) for one in eaten(plan))
    eat = f"eat from {hours}" if plan["answer"] == "rounds" else f"eat at {hours}"
    told = [day_text(first, "%A %-d %B"), eat]
    if plan["heads"]:
        told.append(f"{plan['heads']} people")
    told += [_fire_name(zone, metric=plan["unit"] == "C") for zone in plan["load"]]
    sure = sure_lines(plan)
    how_sure = wrap("How sure: " + "; ".join(sure), room) if sure else []
    name = wrap(plan["name"], room, all_bold=True, most=1 if how_sure else 2)
    head = Columns((Lines((title,), ink=OXBLOOD), Lines((*name, *how_sure))),
                   (title.width, room), 20)  # fmt: skip
    unsure = unsure_line(plan)
    more = [text(unsure, width)] if unsure else []
    return [head, text("; ".join(told), width, all_bold=True), *more]


def _fire_name(zone: dict[str, Any], *, metric: bool) -> str:
    area = zone["of_sq_in"]
    if not area:
        return str(zone["name"])
    size = f"{area * 2.54**2:,.0f} sq cm" if metric else f"{area:,.0f} sq in"
    return f"{zone['name']}, {size} of it used"


def _dont_eats(plan: dict[str, Any], width: float, sheet: dict[str, Any]) -> list[Any]:
    """Return who does not eat what; a plate of many words is cut, and where it is told whole."""
    if not plan["dont_eats"]:
        return []
    room = width - 16
    whole = [_dont_eat(one, room, most=0) for one in plan["dont_eats"]]
    lines = [*chain.from_iterable(whole)]
    most = _PLATE_LINES
    while len(lines) > _DONT_LINES and most:
        lines = [*chain.from_iterable(_dont_eat(one, room, most=most) for one in plan["dont_eats"])]
        most -= 1
    if len(lines) < sum(map(len, whole)):
        where = "see the page" if sheet.get("address") else "ask at the counter"
        lines += wrap(f"All of who may eat what: {where}.", room)
    return [Gap(3), Lines(tuple(lines), framed=True)]


def _dont_eat(one: dict[str, Any], room: float, *, most: int) -> list[Any]:
    many = one["count"]
    what = said(one["what"])
    count = f"{many} eat no {what}:" if many else f"Some eat no {what}:"
    if many == 1:
        count = f"1 eats no {what}:"
    return wrap(one["plate"] or "", room, bold=count, most=most)


def _answer(plan: dict[str, Any], width: float) -> list[Any]:
    if plan["answer"] == "no":
        why = " ".join(one["say"] for one in plan["why_no"])
        nearest = " ".join(one["say"] for one in plan["nearest_yes"])
        lines = wrap(why, width - 16, bold="This does not fit the fire.")
        lines += wrap(nearest, width - 16, bold="What would work:") if nearest else []
        return [Gap(3), Lines(tuple(lines), framed=True)]
    if plan["answer"] == "rounds":
        return [Gap(3), text("Not all at once: some of it is eaten in a later round, told below.",
                             width, all_bold=True)]  # fmt: skip
    return []


def _before(plan: dict[str, Any], width: float, keep: Keep) -> list[Any]:
    """Return what comes before the fire; lighting stands among the steps if these are told.

    Thawing is never a detail: meat that is still frozen is not ready by any clock.
    """
    kept = {kind for kind, least in BEFORE_KINDS.items() if keep.before >= least}
    kept -= {"light"} if keep.steps else set()
    lines: list[Any] = []
    for kind in ("ride", "thaw", "salt", "light"):
        told = [_moment(plan, one) for one in plan["before"]
                if kind in kept & {one["kind"]} and one["what"] != SALT_NOTE]  # fmt: skip
        if kind == "light":  # the fires are few and short: in one paragraph
            told = [[*chain.from_iterable(told)]]
        for marked in told:
            lines += wrap_parts(marked, lambda _above: width)
    if "fridge" in kept:
        lines += _out_of_fridge(plan, width)
    return [Gap(2), Lines(tuple(lines))] if lines else []


def _moment(plan: dict[str, Any], one: dict[str, Any]) -> list[tuple[str, bool]]:
    """Return a step before the fire with its hour, and its day if it is another than the meal's."""
    is_other = one["at"] is not None and one["at"][:10] != plan["serve"][0]["at"][:10]
    at = when_text(one["at"], day=is_other) if one["at"] else ""
    return [(at, True), (one["what"], False)]


def _out_of_fridge(plan: dict[str, Any], width: float) -> list[Any]:
    """Return in one line what is out of the fridge as usual, and a line for each other thing."""
    starts = {item["id"]: min((load["start_min"] for load in item["loads"]), default=0)
              for item in plan["items"]}  # fmt: skip
    told = [one for one in plan["before"] if one["kind"] == "fridge"]
    first = datetime.fromisoformat(plan["serve"][0]["at"])
    usual = [one for one in told if first + timedelta(minutes=starts[one["item"]] - OUT_MIN)
             == datetime.fromisoformat(one["at"])]  # fmt: skip
    lines = wrap(_OUT, width) if usual else []
    for one in told:
        if one not in usual:
            lines += wrap_parts(_moment(plan, one), lambda _above: width)
    return lines


def _fire(plan: dict[str, Any], width: float, keep: Keep) -> list[Any]:
    """Return the bars with the bands, or a line for each thing."""
    units = {"unit": plan["unit"], "weight_unit": plan["weight_unit"]}
    rows = rows_of(plan, **units)
    if keep.bars and rows:
        drawing = fire_picture(plan, width=width, brief=not keep.rests, **units)
        assert drawing is not None  # there are rows
        key = [text(HATCHED, width)] if keep.hatched else []
        return [Picture(drawing), *key, *(_waits(plan, width) if keep.rests else [])]
    column = (width - 14) / 2
    parts = [
        text(f"{', '.join(dict.fromkeys(HEAT_WORDS[heat] for heat, _, _ in row.stages))}, "
             f"{row.minimum}, off {row.off_at}", column, bold=f"{row.starts_at} {row.name}:")
        for row in rows
    ]  # fmt: skip
    laid = {row.item for row in rows}
    parts += [
        text(minimum_text(item, plan["unit"]), column, bold=f"{item['name']}:")
        for item in plan["items"]
        if item["id"] not in laid
    ]
    # a row of two at a time, so that a further page can begin between any of them
    pairs = [tuple(parts[at : at + 2]) for at in range(0, len(parts), 2)]
    return [Columns((*pair, Gap(0))[:2], (column, column)) for pair in pairs]


def _waits(plan: dict[str, Any], width: float) -> list[Any]:
    """Return what waits where, each place once."""
    places: dict[str, dict[str, None]] = {}
    for item in plan["items"]:
        for load in item["loads"]:
            if load["wait_min"] and load["waits"]:
                places.setdefault(load["waits"], {})[item["name"]] = None
    return [text(f"{', '.join(names)} {place}.", width, bold="Waiting:")
            for place, names in places.items()]  # fmt: skip


def _steps(plan: dict[str, Any], width: float, keep: Keep) -> list[Any]:
    steps = [one for one in short_steps(plan) if keep.steps == 2 or (keep.steps and one.moves)]
    if not steps:
        return []
    column, indent = (width - 14) / 2, 22.0
    parts = [
        Entry(tuple(wrap(one.text, column - indent, bold=when_text(one.at))),
              mark=_MARKS.get(one.tool, ""), indent=indent)
        for one in steps
    ]  # fmt: skip
    used = [word for tool, word in _MARK_WORDS.items() if any(s.tool == tool for s in steps)]
    key = [text("In the margin: " + ", ".join(used) + ".", width)] if used else []
    return [Rule(), beside(parts, width), *key]
