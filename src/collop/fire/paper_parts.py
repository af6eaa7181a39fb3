"""Parts of the printed Fire Sheet: each knows its height and draws itself below a given line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import segno
from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor, white
from reportlab.pdfgen.canvas import Canvas

from collop.fire.paper_text import BOLD, TEXT_PT, Line, wrap

__all__ = ["Columns", "Entry", "Gap", "Lines", "Listed", "Picture", "Qr", "Rule", "beside", "text"]

INK, OXBLOOD = HexColor("#1b1512"), HexColor("#5e1224")
_MARK = 16.0
_QUIET = 4
_MODULE_PT = 2.0


def draw_line(canvas: Canvas, line: Line, x: float, top: float, *, ink: Any = INK) -> None:  # noqa: ANN401 -- the library's colour
    """Write one line whose top is at a height of the page [pt]."""
    canvas.setFillColor(ink)
    for run in line.runs:
        canvas.setFont(run.font, run.size)
        canvas.drawString(x + run.x, top - line.drop, run.text)


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of text below each other, framed if they must not be missed."""

    lines: tuple[Line, ...]
    framed: bool = False
    ink: Any = INK

    @property
    def height(self) -> float:
        """Return the height [pt]."""
        return sum(line.height for line in self.lines) + (8 if self.framed else 0)

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw below `top`."""
        inset = 4 if self.framed else 0
        if self.framed:
            canvas.setStrokeColor(INK)
            canvas.setLineWidth(1.6)
            canvas.rect(x, top - self.height + 1, width, self.height - 2)
        for line in self.lines:
            draw_line(canvas, line, x + (8 if self.framed else 0), top - inset, ink=self.ink)
            top -= line.height


@dataclass(frozen=True, slots=True)
class Gap:
    """Nothing, so high [pt]."""

    height: float

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw nothing."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A thin line across."""

    height: float = 5.0

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw below `top`."""
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.line(x, top - self.height / 2, x + width, top - self.height / 2)


@dataclass(frozen=True, slots=True)
class Picture:
    """The picture of bars and bands."""

    drawing: Drawing

    @property
    def height(self) -> float:
        """Return the height [pt]."""
        return float(self.drawing.height)

    def draw(self, canvas: Canvas, x: float, top: float, _width: float) -> None:
        """Draw below `top`."""
        renderPDF.draw(self.drawing, canvas, x, top - self.height)


@dataclass(frozen=True, slots=True)
class Entry:
    """Lines with a mark in the margin, or a line under them to write on.

    Attributes
    ----------
    mark : str
        Letter of the tool; empty for none.
    indent : float
        Where the text begins [pt].
    blank : bool
        Whether a line to write on fills what is left of the last line.
    """

    lines: tuple[Line, ...]
    mark: str = ""
    indent: float = 0.0
    blank: bool = False

    @property
    def height(self) -> float:
        """Return the height [pt]."""
        return max(sum(line.height for line in self.lines), _MARK + 2 if self.mark else 0) + (
            4 if self.blank else 0
        )

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw below `top`."""
        if self.mark:
            _tool_mark(canvas, self.mark, x, top - 1)
        top -= 4 if self.blank else 0
        for line in self.lines:
            draw_line(canvas, line, x + self.indent, top)
            top -= line.height
        if self.blank:
            canvas.setStrokeColor(INK)
            canvas.setLineWidth(0.8)
            canvas.line(x + self.lines[-1].width + 6, top + 3, x + width, top + 3)


def _tool_mark(canvas: Canvas, letter: str, x: float, top: float) -> None:
    """Draw a tool's letter: raw in a frame, cooked in a filled frame, meat-free in a ring."""
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(1.2)
    canvas.setFillColor(INK if letter == "C" else white)
    if letter == "M":
        canvas.circle(x + _MARK / 2, top - _MARK / 2, _MARK / 2, stroke=1, fill=1)
    else:
        canvas.rect(x, top - _MARK, _MARK, _MARK, stroke=1, fill=1)
    canvas.setFillColor(white if letter == "C" else INK)
    canvas.setFont(BOLD, TEXT_PT)
    canvas.drawCentredString(x + _MARK / 2, top - _MARK / 2 - 4.3, letter)


@dataclass(frozen=True, slots=True)
class Listed:
    """Parts below each other."""

    parts: tuple[Any, ...]

    @property
    def height(self) -> float:
        """Return the height [pt]."""
        return float(sum(part.height for part in self.parts))

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw below `top`."""
        for part in self.parts:
            part.draw(canvas, x, top, width)
            top -= part.height


@dataclass(frozen=True, slots=True)
class Columns:
    """Parts side by side, each with its own width [pt]."""

    parts: tuple[Any, ...]
    widths: tuple[float, ...]
    between: float = 14.0

    @property
    def height(self) -> float:
        """Return the height [pt]."""
        return max((float(part.height) for part in self.parts), default=0.0)

    def draw(self, canvas: Canvas, x: float, top: float, _width: float) -> None:
        """Draw below `top`."""
        for part, its_width in zip(self.parts, self.widths, strict=True):
            part.draw(canvas, x, top, its_width)
            x += its_width + self.between


def beside(parts: Sequence[Any], width: float, *, between: float = 14.0) -> Columns:
    """Return parts in two columns of like height, in reading order down each."""
    total = sum(part.height for part in parts)
    left: list[Any] = []
    tall = 0.0
    for part in parts:
        if left and tall + part.height / 2 > total / 2:
            break
        left.append(part)
        tall += part.height
    column = (width - between) / 2
    halves = (Listed(tuple(left)), Listed(tuple(parts[len(left) :])))
    return Columns(halves, (column, column), between)


@lru_cache(maxsize=16)
def _modules(address: str) -> tuple[bytes, ...]:
    code = segno.make(address, error="m", micro=False, boost_error=False)
    return tuple(bytes(row) for row in code.matrix)


@dataclass(frozen=True, slots=True)
class Qr:
    """The address as a code of error level M, in whole modules with its quiet zone."""

    address: str
    _matrix: tuple[bytes, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_matrix", _modules(self.address))

    @property
    def width(self) -> float:
        """Return the width with the quiet zone [pt]."""
        return _MODULE_PT * (len(self._matrix) + 2 * _QUIET)

    @property
    def height(self) -> float:
        """Return the height with the quiet zone [pt]."""
        return self.width

    def draw(self, canvas: Canvas, x: float, top: float, width: float) -> None:
        """Draw at the right end, below `top`."""
        left = x + width - self.width
        canvas.setFillColor(white)
        canvas.rect(left, top - self.width, self.width, self.width, stroke=0, fill=1)
        canvas.setFillColorRGB(0, 0, 0)
        for row, modules in enumerate(self._matrix):
            y = top - _MODULE_PT * (_QUIET + row + 1)
            column = 0
            while column < len(modules):
                end = column
                while end < len(modules) and modules[end]:
                    end += 1
                if end > column:  # neighbours as one bar: no hairline between them in print
                    start, length = left + _MODULE_PT * (_QUIET + column), end - column
                    canvas.rect(start, y, _MODULE_PT * length, _MODULE_PT, stroke=0, fill=1)
                column = end + 1


def text(words: str, width: float, **look: Any) -> Lines:  # noqa: ANN401 -- handed on to `wrap`
    """Return words as lines of a width."""
    return Lines(tuple(wrap(words, width, **look)))
