"""The safe-handling block: heading larger than the rest, a border, a sign beside each statement.

Rules LB009 to LB020. Its words come from the plan and are drawn as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from collop.errors import BadValue
from collop.reference.rulebook import safe_handling_parts
from collop.ticket.glyphs import SIGN_OF_PART
from collop.ticket.layout_model import Form, Frame, Graphic, Part, TextBox
from collop.ticket.layout_rows import Line
from collop.ticket.layout_text import drop, line_height, text_width, wrap

__all__ = ["handling_block", "sorted_handling"]

_BORDER_MM, _PAD_MM, _SIGN_MM = 0.3, 0.7, 4.6
_HEAD_MOST = 1.5  # times the type of the statements
_WHERE = "$.lines"


def sorted_handling(lines: Sequence[Line]) -> tuple[Line | None, list[tuple[str, Line]]]:
    """Return the heading, and each statement with its part of the table, in the table's order.

    Raises
    ------
    BadValue
        If a statement is not one of the prescribed ones, or the heading is missing.
    """
    heads = [line for line in lines if line.role == "handling_head"]
    there = [line for line in lines if line.role == "handling"]
    if not heads and not there:
        return None, []
    parts = {" ".join(part.words.split()): part.part for part in safe_handling_parts()}
    found = {parts.get(line.text, ""): line for line in there}
    order = [part for part in parts.values() if part != "heading"]
    if len(heads) != 1 or set(found) != set(order) or len(there) != len(order):
        raise BadValue(
            "The safe-handling block must have its heading and the five statements in the "
            "prescribed words, each once; take them from the table safe_handling_text.csv.",
            where=_WHERE,
        )
    return heads[0], [(part, found[part]) for part in order]


def _head_px(head: Line, px: int, width: int) -> int:
    """Return the type size of the heading: larger than the statements, on one line if it can be."""
    for size in range(round(_HEAD_MOST * px), px, -1):
        if text_width(head.text, size, bold=True) <= width:
            return size
    return px + 1


def handling_block(
    head: Line, statements: Sequence[tuple[str, Line]], form: Form, width: int, px: int
) -> tuple[int, Part]:
    """Return the height [dots] and the boxes of the block, from its own top left corner.

    Parameters
    ----------
    head : Line
        The heading.
    statements : sequence of (part, Line)
        Those that stand in this block, with their part of the table.
    form : Form
        Says the dots to the mm.
    width : int
        Its width, border included [dots].
    px : int
        Type size of the statements [dots].

    Raises
    ------
    Misfit
        If a word is wider than the block.
    """
    edge = max(2, form.dots(_BORDER_MM))
    pad = edge + form.dots(_PAD_MM)
    inner = width - 2 * pad
    texts: list[TextBox] = []
    graphics: list[Graphic] = []
    size = _head_px(head, px, inner)
    y = _set(texts, replace(head, bold=True), size, (pad, pad, inner), centred=True)
    y += form.dots(0.3)
    sign = max(form.dots(_SIGN_MM), 2 * line_height(px))
    for part, line in statements:
        name = SIGN_OF_PART.get(part)
        if name is None:
            y = _set(texts, line, px, (pad, y, inner), centred=False)
        else:
            x = pad + sign + form.dots(0.9)
            rows: list[TextBox] = []
            end = _set(rows, line, px, (x, 0, pad + inner - x), centred=False)
            tall = max(end, sign)
            texts += [_down(box, y + (tall - end) // 2) for box in rows]
            graphics.append(Graphic(pad, y + (tall - sign) // 2, sign, sign, name))
            y += tall
        y += form.dots(0.4)
    h = y - form.dots(0.4) + pad
    frame = Frame(0, 0, width, h, edge)
    return h, Part(tuple(texts), (), (frame,), tuple(graphics))


def _down(box: TextBox, by: int) -> TextBox:
    return replace(box, y=box.y + by, baseline=box.baseline + by)


def _set(
    texts: list[TextBox], line: Line, px: int, room: tuple[int, int, int], *, centred: bool
) -> int:
    """Set one line, wrapped, in a room of x, y and width; return where it ends."""
    x, y, width = room
    for text in wrap(line.text, px, (width, 0, width), line.element, bold=line.bold):
        wide = text_width(text, px, bold=line.bold)
        left = x + (width - wide) // 2 if centred else x
        texts.append(TextBox(
            left, y, wide, line_height(px), y + drop(px), px, text, bold=line.bold,
            role=line.role, line=line.index,
        ))  # fmt: skip
        y += line_height(px)
    return y
