"""Laid-out tickets as pages of their true size, one a part, with codes as lines of whole dots.

A page is as wide and high as the form's whole dots, so that a printer of that resolution prints
each module on its own dots: at most one dot smaller than the form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from collop.errors import BadValue
from collop.fonts import font_file
from collop.ticket.glyphs import GRID, SIGNS, Shape
from collop.ticket.layout_card import CARD_FORM, CARD_MM, card_part
from collop.ticket.layout_model import Form, Frame, Graphic, Layout, Part, TextBox

__all__ = ["PAPERS", "cards_pdf", "layouts_pdf"]

#: Papers of the cards by their key, with width and height [pt].
PAPERS: dict[str, tuple[float, float]] = {"letter": LETTER, "a4": A4}

_PT, _MM = 72, 25.4
# a page is up to two of these smaller [pt], so that no drawing program adds a row of dots
_FINE = 1e-4
# drawing programs ink every dot a shape touches: bars are drawn that much smaller on each side
_INSET = 0.02
_PLAIN, _BOLD = "CollopTicket", "CollopTicket-Bold"


@cache
def _fonts() -> None:
    pdfmetrics.registerFont(TTFont(_PLAIN, str(font_file("plain"))))
    pdfmetrics.registerFont(TTFont(_BOLD, str(font_file("bold"))))


def _page(form: Form) -> tuple[float, float]:
    """Return width and height of a page [pt]."""

    def points(dots: int) -> float:
        return (math.floor(dots * _PT / form.dpi / _FINE) - 1) * _FINE

    return points(form.width), points(form.height)


def layouts_pdf(layouts: Sequence[Layout], title: str) -> bytes:
    """Return tickets as one PDF file.

    Parameters
    ----------
    layouts : sequence of Layout
        In the order of printing; each part is a page of its form's size.
    title : str
        Title of the file.

    Returns
    -------
    bytes
        The same for the same tickets.
    """
    _fonts()
    file = BytesIO()
    canvas = Canvas(file, invariant=1)
    canvas.setTitle(title)
    canvas.setAuthor("collop")
    for found in layouts:
        for part in found.parts:
            canvas.setPageSize(_page(found.form))
            _draw(canvas, part, found.form, (0, _page(found.form)[1]))
            canvas.showPage()
    canvas.save()
    return file.getvalue()


def cards_pdf(paper: str) -> bytes:
    """Return a sheet of four cards to be filled in by hand.

    Parameters
    ----------
    paper : str
        Key of `PAPERS`.

    Returns
    -------
    bytes
        One page, the same each time.

    Raises
    ------
    BadValue
        If there is no such paper.
    """
    if paper not in PAPERS:
        raise BadValue(f"There is no paper {str(paper)[:20]!r}; use {' or '.join(PAPERS)}.")
    _fonts()
    width, height = PAPERS[paper]
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), invariant=1)
    canvas.setTitle("Tickets to fill in by hand")
    canvas.setAuthor("collop")
    wide, tall = (mm * _PT / _MM for mm in CARD_MM)
    part = card_part()
    for across in range(2):
        for down in range(2):
            x = width / 2 + (across - 1) * wide
            y = height / 2 + (1 - down) * tall
            canvas.saveState()
            _draw(canvas, part, CARD_FORM, (x, y))
            canvas.restoreState()
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw(canvas: Any, part: Part, form: Form, corner: tuple[float, float]) -> None:  # noqa: ANN401 -- untyped library
    """Draw a part whose top left corner stands at a corner [pt]."""
    # from here on a unit is a dot and y runs down from the top
    canvas.translate(*corner)
    canvas.scale(_PT / form.dpi, -_PT / form.dpi)
    canvas.setFillGray(0)
    for frame in part.frames:
        _frame(canvas, frame)
    for graphic in part.graphics:
        for shape in SIGNS[graphic.name]:
            _shape(canvas, shape, graphic)
    for code in part.codes:
        for x, y, w, h in code.bars:
            canvas.rect(
                x + _INSET, y + _INSET, w - 2 * _INSET, h - 2 * _INSET, stroke=0, fill=1
            )  # fmt: skip
    for box in part.texts:
        _text(canvas, box)


def _text(canvas: Any, box: TextBox) -> None:  # noqa: ANN401 -- untyped library
    """Draw one line as wide as its letters of whole dots are."""
    font = _BOLD if box.bold else _PLAIN
    natural = pdfmetrics.stringWidth(box.text, font, box.px)
    canvas.saveState()
    canvas.translate(box.x, box.baseline)
    canvas.scale(box.w / natural if natural else 1, -1)
    canvas.setFont(font, box.px)
    canvas.drawString(0, 0, box.text)
    canvas.restoreState()


def _frame(canvas: Any, frame: Frame) -> None:  # noqa: ANN401 -- untyped library
    half = frame.thick / 2
    canvas.setLineWidth(frame.thick)
    canvas.rect(
        frame.x + half, frame.y + half, frame.w - frame.thick, frame.h - frame.thick,
        stroke=1, fill=0,
    )  # fmt: skip


def _shape(canvas: Any, shape: Shape, graphic: Graphic) -> None:  # noqa: ANN401 -- as above
    points = [
        (graphic.x + px * graphic.w / GRID, graphic.y + py * graphic.h / GRID)
        for px, py in shape.points
    ]
    canvas.setFillGray(0 if shape.dark else 1)
    if shape.round:
        canvas.ellipse(*points[0], *points[1], stroke=0, fill=1)
    else:
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFillGray(0)
