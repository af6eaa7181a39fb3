"""The lines of a ticket in rows: short ones share a row, long ones wrap, none is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collop.ticket.layout_model import Form, Misfit, TextBox
from collop.ticket.layout_text import drop, least_px, line_height, text_width, wrap

__all__ = ["ELEMENTS", "Hole", "Line", "Row", "boxes_of", "flow", "mark", "spread"]

#: Roles in the order of reading (what, how much, money, by when, what is in it, where from), and
#: how each is named where it does not fit.
ELEMENTS: dict[str, str] = {
    "shop": "the name of the shop",
    "place": "the place of the shop",
    "name": "the product name",
    "also": "the words under the product name",
    "net": "the net weight",
    "price": "the price",
    "total": "the total price",
    "dates": "the dates",
    "keep": "the keeping line",
    "ingredients": "the ingredients",
    "contains": "the allergen line",
    "claims": "the claims",
    "lot": "the lot",
    "tare": "the tare",
    "cook": "the cooking line",
    "handling_head": "the safe-handling heading",
    "handling": "the safe-handling block",
}
# type sizes [mm from em to em] before they are scaled
_SIZE_MM = {"big": 4.2, "plain": 2.9, "small": 2.4}
_BIG_TO_LEAST = 1.3  # what is big stays bigger than the rest
_TOGETHER = ({"shop", "place"}, {"net", "price", "total"}, {"dates", "keep"}, {"lot", "tare"})
# where room is scarce these share a row too
# but the allergens, which are looked for at its start, always begin one
_TIGHT = ({"contains", "claims"}, {"claims", "lot"}, {"also", "net"})
_TIGHT_UNDER = 0.9
_BREAKS_WELL = {"name", "also", "dates", "keep", "cook", "claims"}
_GAP_EM = 0.9
_ALL_OF_IT = "the words"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the plan, its text cleaned.

    Parameters
    ----------
    index : int
        Place in the plan's lines.
    role, text, weight, side : str
        As in the plan.
    bold : bool
        As in the plan.
    """

    index: int
    role: str
    text: str
    weight: str
    bold: bool
    side: str

    @property
    def element(self) -> str:
        """Return what it is, in words."""
        return ELEMENTS[self.role]

    def px(self, form: Form, scale: float) -> int:
        """Return its type size [dots], never under the least."""
        least = least_px(form, small_letters=False)
        if self.weight == "big":
            least = round(_BIG_TO_LEAST * least)
        return max(least, form.dots(_SIZE_MM[self.weight] * scale))


@dataclass(frozen=True, slots=True)
class Hole:
    """The room of the rows: full width above `top`, narrower from there [dots]."""

    width: int
    top: int
    narrow: int

    def at(self, y: int, h: int) -> int:
        """Return the width of a row."""
        return self.width if y + h <= self.top else self.narrow


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its top, height and width [dots], and its boxes from its own top left corner."""

    y: int
    h: int
    wide: int
    boxes: tuple[TextBox, ...]

    @property
    def used(self) -> int:
        """Return where its last word ends [dots]."""
        return max(box.x + box.w for box in self.boxes)


def _box(line: Line, text: str, px: int, h: int, x: int) -> TextBox:
    tall = line_height(px)
    # all the words of a row stand on one line
    base = h - (tall - drop(px))
    return TextBox(
        x, base - drop(px), text_width(text, px, bold=line.bold), tall, base, px, text,
        bold=line.bold, role=line.role, line=line.index,
    )  # fmt: skip


def _joins(row: Sequence[Line], right: Line, scale: float) -> bool:
    left = row[-1]
    if any(one.role == "contains" for one in row) and right.role != "claims":
        return False
    pairs = (*_TOGETHER, *_TIGHT) if scale < _TIGHT_UNDER else _TOGETHER
    if any({left.role, right.role} <= roles for roles in pairs):
        return True
    return left.side == "left" and right.side != "full"


def _run(lines: Sequence[Line], form: Form, scale: float, y: int, hole: Hole) -> Row | None:
    """Return the first lines that share a row, or None if not even one fits."""
    taken: list[tuple[Line, int, int]] = []
    row: Row | None = None
    for line in lines:
        if taken and not _joins([one for one, _, _ in taken], line, scale):
            break
        px = line.px(form, scale)
        taken.append((line, px, text_width(line.text, px, bold=line.bold)))
        h = max(line_height(one) for _, one, _ in taken)
        gap = round(_GAP_EM * min(one for _, one, _ in taken))
        wide = hole.at(y, h)
        words = sum(width for _, _, width in taken)
        if words + gap * (len(taken) - 1) > wide:
            break
        # the total stands with the price, not below it
        waits = line.role == "price" and any(one.role == "total" for one in lines)
        if not waits:
            row = _placed(taken, y, h, wide, words)
    return row


def _placed(taken: list[tuple[Line, int, int]], y: int, h: int, wide: int, words: int) -> Row:
    """Spread lines over the width; one alone stands on its own side."""
    spare = (wide - words) // max(1, len(taken) - 1)
    x = wide - words if len(taken) == 1 and taken[0][0].role == "total" else 0
    boxes: list[TextBox] = []
    for line, px, width in taken:
        boxes.append(_box(line, line.text, px, h, x))
        x += width + spare
    return Row(y, h, wide, tuple(boxes))


def _wrapped(line: Line, px: int, y: int, hole: Hole) -> list[Row]:
    h = line_height(px)
    above = max(0, (hole.top - y) // h)
    rows: list[Row] = []
    widths = (hole.width, above, hole.narrow)
    texts = wrap(line.text, px, widths, line.element, bold=line.bold)
    if len(texts) in (2, 3) and line.role in _BREAKS_WELL and above >= len(texts):
        texts = _evened(line, px, hole.width, texts)
    for text in texts:
        rows.append(Row(y, h, hole.at(y, h), (_box(line, text, px, h, 0),)))
        y += h
    return rows


def _evened(line: Line, px: int, width: int, texts: list[str]) -> list[str]:
    """Return two or three lines broken after a comma, or else about as long as each other."""
    if len(texts) == 2:
        ends = [at + 1 for at, letter in enumerate(line.text[:-1]) if letter == ","]
        halves = [(line.text[:end], line.text[end:].strip()) for end in ends]
        long = [max(text_width(half, px, bold=line.bold) for half in two) for two in halves]
        if long and min(long) <= width:
            return list(halves[long.index(min(long))])
    low, high = 0, width
    while high - low > 1:
        middle = (low + high) // 2
        try:
            lines = wrap(line.text, px, (middle, 0, middle), "", bold=line.bold)
        except Misfit:
            low = middle
            continue
        if len(lines) > len(texts):
            low = middle
        else:
            high, texts = middle, lines
    return texts


def flow(lines: Sequence[Line], form: Form, scale: float, hole: Hole, limit: int) -> list[Row]:
    """Return lines as rows from the top.

    Parameters
    ----------
    lines : sequence of Line
        In the order of reading.
    form : Form
        Says the dots to the mm.
    scale : float
        Of the type sizes.
    hole : Hole
        Where there is room.
    limit : int
        Where the rows must end [dots].

    Raises
    ------
    Misfit
        Naming the element that takes most of the room.
    """
    rows: list[Row] = []
    y, at = 0, 0
    while at < len(lines):
        row = _run(lines[at:], form, scale, y, hole)
        if row:
            rows.append(row)
            at += len(row.boxes)
        else:
            rows.extend(_wrapped(lines[at], lines[at].px(form, scale), y, hole))
            at += 1
        y = rows[-1].y + rows[-1].h
        if y > limit:
            raise Misfit(_most(rows, lines))
    return rows


def _most(rows: list[Row], lines: Sequence[Line]) -> str:
    rows_of = Counter(box.line for row in rows for box in row.boxes)
    line, count = rows_of.most_common(1)[0]
    return next(one.element for one in lines if one.index == line) if count > 2 else _ALL_OF_IT


def mark(rows: list[Row], text: str, form: Form, hole: Hole, limit: int) -> list[Row]:
    """Return rows with a small mark such as "1 of 2" at the right of the lowest that has room.

    Beside the allergens it would be read as one of them, so not there.

    Raises
    ------
    Misfit
        If no row has room and there is none for one more.
    """
    px = least_px(form, small_letters=False)
    line = Line(-1, "part", text, "small", bold=True, side="right")
    need = text_width(text, px, bold=True)
    for at in range(len(rows) - 1, -1, -1):
        row = rows[at]
        if any(box.role == "contains" for box in row.boxes):
            continue
        if row.wide - row.used >= need + px:
            box = _box(line, text, px, row.h, row.wide - need)
            return [*rows[:at], replace(row, boxes=(*row.boxes, box)), *rows[at + 1 :]]
    y, h = (rows[-1].y + rows[-1].h if rows else 0), line_height(px)
    wide = hole.at(y, h)
    if y + h > limit or need > wide:
        raise Misfit(_ALL_OF_IT)
    return [*rows, Row(y, h, wide, (_box(line, text, px, h, wide - need),))]


def spread(rows: list[Row], hole: Hole, limit: int) -> list[Row]:
    """Return rows with the room that is left shared out between them, a third of a row at most."""
    if len(rows) < 2:
        return rows
    spare = limit - rows[-1].y - rows[-1].h
    gap = min(spare // (len(rows) - 1), min(row.h for row in rows) // 3)
    moved = [replace(row, y=row.y + gap * at) for at, row in enumerate(rows)]
    return moved if all(hole.at(row.y, row.h) >= row.wide for row in moved) else rows


def boxes_of(rows: Sequence[Row], x: int, y: int) -> tuple[TextBox, ...]:
    """Return the boxes of rows, moved to where they stand on the ticket."""
    return tuple(
        replace(box, x=box.x + x, y=box.y + row.y + y, baseline=box.baseline + row.y + y)
        for row in rows
        for box in row.boxes
    )
