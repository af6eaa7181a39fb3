"""What a laid-out ticket is made of: boxes in whole printer dots, on one or more parts.

Both drawings, the picture for the printer and the page, are made of these boxes and of nothing
else, so that they never differ. `x` runs to the right and `y` down from the top left corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from collop.errors import BadValue

__all__ = [
    "FORMS",
    "CodeBox",
    "Form",
    "Frame",
    "Graphic",
    "Layout",
    "Misfit",
    "Part",
    "TextBox",
    "form_of",
]

_MM = 25.4
#: Forms by their key, with width and height [mm], the smallest first.
FORMS: Mapping[str, tuple[float, float]] = MappingProxyType({
    "58x40": (58.0, 40.0),
    "58x60": (58.0, 60.0),
    "80x50": (80.0, 50.0),
    "80x80": (80.0, 80.0),
    "4x6": (4 * _MM, 6 * _MM),
})  # fmt: skip
_DPI = (203, 300)


class Misfit(Exception):
    """One try at a layout does not fit; the next smaller one is tried.

    Parameters
    ----------
    element : str
        What has no room, in words, e.g. ``the ingredients``.
    code : str
        Kind of the bar code that has no room, empty if it is no bar code.
    needs_mm : float
        Width a bar code needs with its quiet zones [mm].
    """

    def __init__(self, element: str, *, code: str = "", needs_mm: float = 0.0) -> None:
        super().__init__(element)
        self.element = element
        self.code = code
        self.needs_mm = needs_mm


@dataclass(frozen=True, slots=True)
class Form:
    """The paper of one ticket and the printer's resolution.

    Parameters
    ----------
    size : str
        Key of `FORMS`.
    dpi : int
        Dots per inch, 203 or 300.
    """

    size: str
    dpi: int

    def dots(self, mm: float) -> int:
        """Return a length [mm] in dots, rounded to the nearest."""
        return int(mm * self.dpi / _MM + 0.5)

    def mm(self, dots: float) -> float:
        """Return a length in dots as mm."""
        return dots * _MM / self.dpi

    @property
    def width(self) -> int:
        """Return the width in whole dots, rounded down so that nothing is printed off the edge."""
        return int(FORMS[self.size][0] * self.dpi / _MM + 1e-9)

    @property
    def height(self) -> int:
        """Return the height in whole dots, rounded down."""
        return int(FORMS[self.size][1] * self.dpi / _MM + 1e-9)

    @property
    def words(self) -> str:
        """Return the size as it is said, e.g. ``58 x 60 mm``."""
        unit = "in" if self.size == "4x6" else "mm"
        return f"{self.size.replace('x', ' x ')} {unit}"


def form_of(size: str, dpi: int) -> Form:
    """Return a form.

    Raises
    ------
    BadValue
        If there is no such size or resolution.
    """
    if size not in FORMS:
        raise BadValue(
            f"There is no form {str(size)[:20]!r}; use {', '.join(FORMS)}.", where="$.form.size"
        )
    if isinstance(dpi, bool) or dpi not in _DPI:
        raise BadValue(
            f"$.form.dpi is {str(dpi)[:20]}; a ticket is drawn at 203 or 300 dots per inch.",
            where="$.form.dpi",
        )
    return Form(size, dpi)


@dataclass(frozen=True, slots=True)
class TextBox:
    """One line of text.

    Parameters
    ----------
    x, y, w, h : int
        Its room [dots].
    baseline : int
        Where its letters stand, from the top of the ticket [dots].
    px : int
        Size of the type: dots from one em to the next.
    text : str
        As drawn.
    bold : bool
        In the bold face.
    role : str
        Role of the plan's line, ``code`` under a bar code, ``part`` for "1 of 2".
    line : int
        Index of the plan's line it is of, -1 for none.
    """

    x: int
    y: int
    w: int
    h: int
    baseline: int
    px: int
    text: str
    bold: bool
    role: str
    line: int = -1


@dataclass(frozen=True, slots=True)
class CodeBox:
    """One bar code with its quiet zones.

    Parameters
    ----------
    x, y, w, h : int
        Its room, quiet zones included, without the text under it [dots].
    kind, data : str
        As in the plan.
    dots : int
        Dots a module.
    bars : tuple of (x, y, w, h)
        Dark rectangles [dots], from the top left corner of the ticket.
    """

    x: int
    y: int
    w: int
    h: int
    kind: str
    data: str
    dots: int
    bars: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """A border.

    Parameters
    ----------
    x, y, w, h : int
        Its outer edge [dots].
    thick : int
        Thickness of the line, drawn to the inside [dots].
    """

    x: int
    y: int
    w: int
    h: int
    thick: int


@dataclass(frozen=True, slots=True)
class Graphic:
    """A small drawn sign.

    Parameters
    ----------
    x, y, w, h : int
        Its room [dots]; a square.
    name : str
        Key of `collop.ticket.glyphs.SIGNS`.
    """

    x: int
    y: int
    w: int
    h: int
    name: str


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of paper."""

    texts: tuple[TextBox, ...] = ()
    codes: tuple[CodeBox, ...] = ()
    frames: tuple[Frame, ...] = ()
    graphics: tuple[Graphic, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """A ticket laid out.

    Parameters
    ----------
    form : Form
        Its paper.
    parts : tuple of Part
        One or more pieces of the same paper.
    notes : tuple of str
        What the one who prints should know, e.g. that the ticket is printed in two parts.
    """

    form: Form
    parts: tuple[Part, ...]
    notes: tuple[str, ...] = field(default=())
