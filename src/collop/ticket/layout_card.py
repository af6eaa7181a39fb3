"""The card to be filled in by hand while the printer is out: the same fields as a ticket.

Four cards stand on a sheet of A4 or letter, each with the safe-handling block in the prescribed
words, to be struck out on what is ready to eat or without meat.
"""

from __future__ import annotations

from dataclasses import dataclass

from collop.reference.rulebook import safe_handling_parts
from collop.ticket.layout_handling import handling_block, sorted_handling
from collop.ticket.layout_model import Form, Frame, Part, TextBox
from collop.ticket.layout_rows import Line
from collop.ticket.layout_text import drop, least_px, line_height, text_width

__all__ = ["CARD_FORM", "CARD_MM", "FIELDS", "Field", "card_part"]

#: Cards are laid out at this resolution; their size is `CARD_MM`.
CARD_FORM = Form("4x6", 300)
#: Width and height of a card [mm]; four stand on A4 and on letter.
CARD_MM = (96.0, 132.0)
_MARGIN_MM, _ROW_MM, _LINE_MM, _GAP_MM = 2.0, 6.3, 0.2, 3.0
_TYPE_MM = 2.6


@dataclass(frozen=True, slots=True)
class Field:
    """One field of the card.

    Parameters
    ----------
    words : str
        What is asked.
    share : float
        Share of the row's width.
    after : str
        What stands after the line, e.g. a unit.
    ruled : bool
        Whether there is a line to write on.
    """

    words: str
    share: float = 1.0
    after: str = ""
    ruled: bool = True


#: The rows of a card in the order of reading.
FIELDS: tuple[tuple[Field, ...], ...] = (
    (Field("Shop and place"),),
    (Field("Name"),),
    (Field("Tenderized, lean and fat, where from"),),
    (Field("Net", 0.3, "lb"), Field("Price per lb", 0.36), Field("Total", 0.34)),
    (Field("Packed", 0.36), Field("Use or freeze by", 0.64)),
    (Field("Keep at", 0.46, "F or below"), Field("Previously frozen: yes / no", 0.54, ruled=False)),
    (Field("Ingredients"),),
    (Field("Contains (none declared, if none)"),),
    (Field("Lot", 0.38), Field("Tare", 0.26, "lb"), Field("Ticket", 0.36)),
    (Field("Cook to", 0.56, "F in the middle, then"), Field("rest", 0.44, "min")),
    (Field("Ready to eat or without meat: strike out all below.", ruled=False),),
)


def card_part() -> Part:
    """Return one card from its own top left corner, in dots of `CARD_FORM`."""
    form = CARD_FORM
    margin = form.dots(_MARGIN_MM)
    wide, tall = (form.dots(mm) for mm in CARD_MM)
    inner = wide - 2 * margin
    texts: list[TextBox] = []
    frames = [Frame(0, 0, wide, tall, max(1, form.dots(_LINE_MM)))]
    y = margin
    for row in FIELDS:
        y += form.dots(_ROW_MM)
        _row(row, form.dots(_TYPE_MM), (margin, y, inner), texts, frames)
    head, statements = sorted_handling(_handling_lines())
    assert head is not None
    high, block = handling_block(head, statements, form, inner, least_px(form, small_letters=True))
    top = tall - margin - high
    assert top > y, (top, y)
    texts += [_moved_text(box, margin, top) for box in block.texts]
    frames += [Frame(one.x + margin, one.y + top, one.w, one.h, one.thick) for one in block.frames]
    signs = tuple(
        type(one)(one.x + margin, one.y + top, one.w, one.h, one.name) for one in block.graphics
    )
    return Part(tuple(texts), (), tuple(frames), signs)


def _moved_text(box: TextBox, x: int, y: int) -> TextBox:
    return TextBox(
        box.x + x, box.y + y, box.w, box.h, box.baseline + y, box.px, box.text, box.bold, box.role
    )


def _handling_lines() -> list[Line]:
    return [
        Line(at, "handling_head" if part.part == "heading" else "handling", part.words, "small",
             bold=False, side="full")
        for at, part in enumerate(safe_handling_parts())
    ]  # fmt: skip


def _row(
    row: tuple[Field, ...], px: int, room: tuple[int, int, int], texts: list[TextBox],
    frames: list[Frame],
) -> None:  # fmt: skip
    """Set the fields of a row whose line stands at the room's y."""
    x, y, width = room
    thick = max(1, CARD_FORM.dots(_LINE_MM))
    gap = CARD_FORM.dots(_GAP_MM)
    for at, field in enumerate(row):
        end = x + round(width * field.share) - (gap if at < len(row) - 1 else 0)
        left = x
        for words, from_right in ((field.words, False), (field.after, True)):
            if not words:
                continue
            wide = text_width(words, px, bold=not from_right)
            start = end - wide if from_right else left
            texts.append(TextBox(
                start, y - drop(px), wide, line_height(px), y, px, words, bold=not from_right,
                role="card",
            ))  # fmt: skip
            if from_right:
                end = start - gap // 4
            else:
                left = start + wide + gap // 4
        if field.ruled:
            frames.append(Frame(left, y, end - left, thick, thick))
        x += round(width * field.share)
