"""A laid-out ticket as a picture of the printer's own dots: black or white, nothing between."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw

from collop.ticket.glyphs import GRID, SIGNS, Shape
from collop.ticket.layout_model import Form, Frame, Graphic, Part
from collop.ticket.layout_text import face

__all__ = ["part_png"]

_WHITE, _BLACK = 1, 0


def part_png(part: Part, form: Form) -> bytes:
    """Return one part as a PNG file.

    Parameters
    ----------
    part : Part
        What is drawn.
    form : Form
        Says how many dots it is wide and high, and the dots to the inch kept in the file.

    Returns
    -------
    bytes
        One bit a dot, exactly as wide and high as the form; the same for the same part.
    """
    picture = Image.new("1", (form.width, form.height), _WHITE)
    draw = ImageDraw.Draw(picture)
    for frame in part.frames:
        _frame(draw, frame)
    for graphic in part.graphics:
        for shape in SIGNS[graphic.name]:
            _shape(draw, shape, graphic)
    for box in part.texts:
        draw.text(
            (box.x, box.baseline), box.text, fill=_BLACK, font=face(box.px, bold=box.bold),
            anchor="ls",
        )  # fmt: skip
    for code in part.codes:
        for bar in code.bars:
            _fill(draw, *bar)
    file = BytesIO()
    picture.save(file, "PNG", dpi=(form.dpi, form.dpi), optimize=False)
    return file.getvalue()


def _fill(draw: ImageDraw.ImageDraw, x: int, y: int, w: int, h: int) -> None:
    # the library counts the last dot as drawn
    draw.rectangle((x, y, x + w - 1, y + h - 1), fill=_BLACK)


def _frame(draw: ImageDraw.ImageDraw, frame: Frame) -> None:
    x, y, w, h, thick = frame.x, frame.y, frame.w, frame.h, frame.thick
    for edge in ((x, y, w, thick), (x, y + h - thick, w, thick), (x, y, thick, h),
                 (x + w - thick, y, thick, h)):  # fmt: skip
        _fill(draw, *edge)


def _shape(draw: ImageDraw.ImageDraw, shape: Shape, graphic: Graphic) -> None:
    points = [
        (graphic.x + px * graphic.w / GRID, graphic.y + py * graphic.h / GRID)
        for px, py in shape.points
    ]
    fill = _BLACK if shape.dark else _WHITE
    if shape.round:
        draw.ellipse(points, fill=fill)
    else:
        draw.polygon(points, fill=fill)
