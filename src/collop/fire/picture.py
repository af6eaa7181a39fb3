"""The Fire Sheet's picture: a bar for each load, and how full each part of the fire is.

One drawing serves the paper and the page. Widths and heights are points; on the page a point is
one CSS pixel.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from reportlab.graphics import renderSVG
from reportlab.graphics.charts.axes import XValueAxis
from reportlab.graphics.shapes import Drawing, Group, Hatching, Polygon, Rect, String
from reportlab.graphics.shapes import Line as Stroke
from reportlab.lib.colors import Color, HexColor, white

from collop.fire.paper_sure import eaten
from collop.fire.paper_text import (
    BOLD,
    PLAIN,
    TEXT_PT,
    TIME_PT,
    Line,
    fonts_ready,
    one_line,
    wrap,
)
from collop.fire.picture_rows import OWN_TRAY, Row, clock_at, rows_of
from collop.words import said

__all__ = ["HATCHED", "fire_picture", "picture_svg"]

#: What to do with the hatched part of a bar.
HATCHED = "Probe from where the hatching begins. Done early: off, in foil, kept hot."

INK, SOFT, HAIR = HexColor("#1b1512"), HexColor("#4a3f38"), HexColor("#cfc4b4")
GREY = HexColor("#9a9088")
#: Fill of a stage; each differs from its neighbours in lightness too, for black and white.
FILLS = {
    "direct": HexColor("#5e1224"),
    "plate": HexColor("#5e1224"),
    "indirect": HexColor("#a8782c"),
    "oven": HexColor("#ece2cf"),
    "pot": HexColor("#ece2cf"),
}
_BAR, _BAND, _GAP = 10.0, 22.0, 4.0
#: From so many rows on they stand closer, with lower bars.
_MANY = 6
_LOW_BAR, _LOW_GAP, _LOW_LEADING = 8.0, 3.0, 0.92
_STEPS = (15, 30, 60, 120, 180, 240, 360, 720, 1440)
_TICK_ROOM = 62.0  # a clock time of 16 pt and some air
_NARROW = 430.0
_LEAST = "middle at least"
_KEY_WORDS = {
    "direct": "coals",
    "indirect": "cool side",
    "plate": "plate",
    "oven": "oven",
    "pot": "pot",
}


class _Scale:
    """Minutes to points: from the first start to the last meal, ends on round clock times."""

    def __init__(self, plan: dict[str, Any], rows: Sequence[Row], width: float) -> None:
        first = datetime.fromisoformat(plan["serve"][0]["at"])
        past_midnight = first.hour * 60 + first.minute
        low = min(row.start for row in rows)
        high = max(max(row.eat, row.late, row.ready) for row in rows)
        self.serve = sorted({_minutes_after(first, one["at"]) for one in eaten(plan)})
        high = max(high, *self.serve)
        inside = width - _TICK_ROOM
        for step in _STEPS:
            self.low = (low + past_midnight) // step * step - past_midnight
            self.high = -(-(high + past_midnight) // step) * step - past_midnight
            self.step = step
            if (self.high - self.low) / step * _TICK_ROOM <= inside:
                break
        self.x, self.width = _TICK_ROOM / 2, inside
        self.plan = plan
        many = len(rows) >= _MANY
        self.bar, self.gap = (_LOW_BAR, _LOW_GAP) if many else (_BAR, _GAP)
        self.leading = _LOW_LEADING if many else 1.0

    def at(self, minute: float) -> float:
        """Return where a minute stands [pt]."""
        return self.x + self.width * (minute - self.low) / max(1, self.high - self.low)

    def rules(self, group: Group, low: float, high: float) -> None:
        """Draw a line for each clock time of the axis and each meal, behind what follows."""
        for minute in range(self.low, self.high + 1, self.step):
            x = self.at(minute)
            group.add(Stroke(x, low, x, high, strokeColor=HAIR, strokeWidth=0.7))
        for minute in self.serve:
            x = self.at(minute)
            group.add(Stroke(x, low, x, high, strokeColor=INK, strokeWidth=1,
                             strokeDashArray=[3, 2]))  # fmt: skip

    def axis(self, y: float) -> XValueAxis:
        """Return the axis of clock times."""
        axis = XValueAxis()
        axis.setPosition(self.x, y, self.width)
        axis.valueMin, axis.valueMax = self.low, self.high
        axis.valueSteps = list(range(self.low, self.high + 1, self.step))
        axis.labelTextFormat = lambda minute: clock_at(self.plan, round(minute))
        axis.labels.fontName, axis.labels.fontSize = BOLD, TIME_PT
        axis.labels.fillColor = axis.strokeColor = INK
        axis.labels.dy = -4
        axis.configure([(self.low, self.high)])
        return axis


def _minutes_after(first: datetime, at: str) -> int:
    return round((datetime.fromisoformat(at) - first) / timedelta(minutes=1))


def fire_picture(
    plan: dict[str, Any],
    *,
    width: float,
    unit: str = "F",
    weight_unit: str = "lb",
    brief: bool = False,
) -> Drawing | None:
    """Return the picture of a plan; None if nothing is laid on the fire.

    Parameters
    ----------
    plan : dict
        A ``collop.fire.plan/1`` object.
    width : float
        Width of the drawing [pt]; 300 or more.
    unit, weight_unit : str
        How temperatures and weights are told.
    brief : bool
        Over a bar no word of pull and rest where it would take a line of its own.
    """
    fonts_ready()
    rows = rows_of(plan, unit=unit, weight_unit=weight_unit)
    if not rows:
        return None
    scale = _Scale(plan, rows, width)
    parts = [_heading(width)]
    parts += [_row_part(row, scale, width, brief=brief) for row in rows]
    bars = len(parts)
    parts += [
        _band_part(zone, scale, width)
        for zone in plan["load"]
        if zone["of_sq_in"] and zone["spans"]
    ]
    key, key_height = _key(rows, width)
    axis_height = TIME_PT + 8
    height = math.ceil(sum(tall for _, tall in parts) + axis_height + key_height)
    drawing = Drawing(width, height)
    base = key_height + axis_height
    drawing.add(scale.axis(base))
    top = float(height)
    for number, (group, tall) in enumerate(parts):
        top -= tall
        group.translate(0, top)
        drawing.add(group)
        if number == bars - 1 and len(parts) > bars:
            drawing.add(Stroke(0, top, width, top, strokeColor=INK, strokeWidth=0.8))
    drawing.add(key)
    return drawing


def _words(group: Group, line: Line, x: float, top: float) -> None:
    for run in line.runs:
        group.add(String(x + run.x, top - line.drop, run.text, fontName=run.font,
                         fontSize=run.size, fillColor=INK))  # fmt: skip


def _heading(width: float) -> tuple[Group, float]:
    """Return the words over the columns of times and temperatures, and their height."""
    group = Group()
    off = one_line("off, cooked tool", width)
    tall = off.height
    _words(group, one_line("on, raw tool", width), 0, tall)
    _words(group, off, width - off.width, tall)
    if width >= _NARROW:
        least = one_line(_LEAST, width)
        _words(group, least, width - off.width - 16 - least.width, tall)
    return group, tall


def _row_part(row: Row, scale: _Scale, width: float, *, brief: bool) -> tuple[Group, float]:
    """Return the words and the bar of a row, and their height."""
    group = Group()
    start = one_line(row.starts_at, width)
    left = start.width + 10
    off = one_line(row.off_at, width)
    narrow = width < _NARROW
    minimum = one_line(f"{_LEAST} {row.minimum}" if narrow and row.has_rule else row.minimum,
                       width - left, all_bold=True)  # fmt: skip
    right = off.width if narrow else off.width + minimum.width + 14
    name = f"{row.name}," if row.weight else row.name
    room = width - left - right - 14
    lines = wrap(f"{row.weight}, {row.what}", room, bold=name)
    best = one_line(row.best, width - left, all_bold=True)
    if brief and len(lines) > 1:
        lines = _brief_lines(row, name, room)
    if narrow:
        lines = [*lines, minimum, *([best] if row.best else [])]
    elif row.best and len(lines) == 1:  # it stands in the second line
        lines = [*lines, replace(best, runs=(), width=0.0)]
    heights = [max(start.height, lines[0].height)] + [line.height for line in lines[1:]]
    heights[0] *= scale.leading
    tall = sum(heights) + scale.bar + scale.gap
    top = tall
    _words(group, start, 0, top)
    _words(group, off, width - off.width, top)
    if not narrow:
        _words(group, minimum, width - right, top - start.drop + minimum.drop)
        if row.best:
            second = top - heights[0]
            _words(group, best, width - right, second - lines[1].drop + best.drop)
    drop = start.drop - lines[0].drop
    for line, line_height in zip(lines, heights, strict=True):
        _words(group, line, left, top - drop)
        top, drop = top - line_height, 0.0
    scale.rules(group, 1, scale.gap + scale.bar + 1)
    _bar(group, row, scale, scale.gap - 1)
    return group, tall


def _brief_lines(row: Row, name: str, room: float) -> list[Line]:
    """Return a row in one line; moves, loads and how it is made up may take a second."""
    for words in (row.where, row.where.removesuffix(f", {OWN_TRAY}")):
        where = wrap(f"{row.weight}, {words}", room, bold=name)
        if len(where) == 1:
            return where
    first = wrap(row.weight, room, bold=name, most=1)
    is_needed = len(row.stages) > 1 or row.has_loads or row.is_made_up
    return first + (wrap(row.where, room) if is_needed else [])


def _bar(group: Group, row: Row, scale: _Scale, y: float) -> None:
    """Draw the stages, the hatched band of when it is done, the rest, and the meal."""
    bar = scale.bar
    if row.eat > row.ready:
        group.add(Stroke(scale.at(row.ready), y + bar / 2, scale.at(row.eat), y + bar / 2,
                         strokeColor=INK, strokeWidth=1.2))  # fmt: skip
    if row.ready > row.off:
        group.add(_box(scale, (row.off, row.ready), y, white, inset=2.5))
    for heat, start, end in row.stages:
        group.add(_box(scale, (start, end), y, FILLS[heat]))
    low, high = scale.at(max(row.early, row.start)), scale.at(max(row.late, row.start + 1))
    group.add(Rect(low, y, high - low, bar, fillColor=white, strokeColor=INK, strokeWidth=0.8))
    group.add(_hatch(low, high, y, bar))
    eat = scale.at(row.eat)
    group.add(Polygon([eat, y + 1, eat + 4, y + bar / 2, eat, y + bar - 1, eat - 4, y + bar / 2],
                      fillColor=INK, strokeColor=white, strokeWidth=0.5))  # fmt: skip


def _box(
    scale: _Scale, span: tuple[int, int], y: float, fill: Color, *, inset: float = 0.0
) -> Rect:  # fmt: skip
    low, high = (scale.at(minute) for minute in span)
    bar = scale.bar
    return Rect(low, y + inset, max(1.0, high - low), bar - 2 * inset, fillColor=fill,
                strokeColor=INK, strokeWidth=0.8)  # fmt: skip


def _hatch(low: float, high: float, y: float, bar: float) -> Hatching:
    top = y + bar
    return Hatching(spacings=3, angles=45, xyLists=[[low, y, high, y, high, top, low, top]],
                    strokeColor=INK, strokeWidth=0.8, fillColor=None)  # fmt: skip


def _band_part(zone: dict[str, Any], scale: _Scale, width: float) -> tuple[Group, float]:
    """Return how full a zone is through the time, under the line that is its full area."""
    group = Group()
    full = zone["of_sq_in"]
    fullest = max(zone["spans"], key=lambda span: span["area_sq_in"])
    share = round(100 * fullest["area_sq_in"] / full)
    at = clock_at(scale.plan, fullest["start_min"])
    told = one_line("thick line: full", width)
    lines = wrap(f"at most {share} % full, from {at}", width - told.width - 16,
                 bold=f"{zone['name']}:", most=3)  # fmt: skip
    words = sum(line.height for line in lines)
    tall = words + _BAND + 2 * _GAP
    base = _GAP
    scale.rules(group, base, base + _BAND)
    unit = (_BAND - 2) / full
    for span in zone["spans"]:
        low, high = scale.at(span["start_min"]), scale.at(span["end_min"])
        group.add(Rect(low, base, high - low, unit * span["area_sq_in"], fillColor=GREY,
                       strokeColor=None))  # fmt: skip
    level = base + unit * full
    group.add(Stroke(scale.at(scale.low), level, scale.at(scale.high), level,
                     strokeColor=INK, strokeWidth=2))  # fmt: skip
    group.add(Stroke(scale.at(scale.low), base, scale.at(scale.high), base,
                     strokeColor=INK, strokeWidth=0.6))  # fmt: skip
    top = tall - 2
    _words(group, told, width - told.width, top - lines[0].drop + told.drop)
    for line in lines:
        _words(group, line, 0, top)
        top -= line.height
    return group, tall


def _key(rows: Sequence[Row], width: float) -> tuple[Group, float]:
    """Return what the fills mean, in as many lines as it takes."""
    heats = dict.fromkeys(heat for row in rows for heat, _, _ in row.stages)
    parts: list[tuple[str, str]] = [(said(_KEY_WORDS[heat]), heat) for heat in heats]
    parts += [(said("hatched: done in it, 8 fires of 10"), "hatch"), (said("rest"), "rest"),
              (said("eat"), "eat")]  # fmt: skip
    group, x, lines = Group(), 0.0, 1
    placed: list[tuple[float, int, str, str]] = []
    for text, kind in parts:
        room = 22 + one_line(text, width).width + 11
        if x and x + room - 11 > width:
            x, lines = 0.0, lines + 1
        placed.append((x, lines, text, kind))
        x += room
    pitch = TEXT_PT + 5
    for x, line, text, kind in placed:
        y = (lines - line) * pitch + 3
        _swatch(group, kind, x, y)
        group.add(String(x + 22, y, text, fontName=PLAIN, fontSize=TEXT_PT, fillColor=INK))
    return group, lines * pitch + 2


def _swatch(group: Group, kind: str, x: float, y: float) -> None:
    if kind == "eat":
        group.add(Polygon([x + 9, y + 1, x + 13, y + 5, x + 9, y + 9, x + 5, y + 5],
                          fillColor=INK, strokeColor=None))  # fmt: skip
        return
    fill = FILLS.get(kind, white)
    inset = 2.5 if kind == "rest" else 0.0
    group.add(Rect(x, y + inset, 18, _BAR - 2 * inset, fillColor=fill, strokeColor=INK,
                   strokeWidth=0.8))  # fmt: skip
    if kind == "hatch":
        group.add(_hatch(x, x + 18, y, _BAR))


# what XML 1.0 allows in no document, not even escaped (W3C, production 2, Char)
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_STYLE = re.compile(r' style="([^"]*)"')
# the page's policy lets no style attribute through, so each becomes an attribute of its own
_FACES = "'DejaVu Sans', Verdana, sans-serif"


def _plain_attributes(found: re.Match[str]) -> str:
    kept = []
    for part in found[1].split(";"):
        name, colon, value = part.partition(":")
        if not colon:
            continue
        name, value = name.strip(), value.strip()
        if name == "font-family":
            weight = ' font-weight="700"' if "Bold" in value else ""
            kept.append(f'font-family="{_FACES}"{weight}')
        else:
            kept.append(f'{name}="{value}"')
    return " " + " ".join(kept) if kept else ""


def picture_svg(
    plan: dict[str, Any], *, width: float, unit: str = "F", weight_unit: str = "lb"
) -> str | None:
    """Return the picture as SVG text without style attributes; None if nothing is laid."""
    drawing = fire_picture(plan, width=width, unit=unit, weight_unit=weight_unit)
    if drawing is None:
        return None
    text = _STYLE.sub(_plain_attributes, str(renderSVG.drawToString(drawing)))
    text = _NOT_XML.sub("", text)
    return text.replace("<title>...</title>", "<title>Your fire</title>", 1)
