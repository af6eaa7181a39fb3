"""Sheets laid out before they are drawn: rows of cells that grow with their text, page by page.

Nothing that is read is set under 12 pt; text that is too wide goes on below, and a row grows. A
row that does not fit begins a further page, under the same heads. Sizes are common practice, no
published source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from io import BytesIO

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from collop.errors import BadValue
from collop.fire.paper_text import TEXT_PT, Line, fonts_ready, one_line, wrap

__all__ = ["PAPERS", "Cell", "Column", "Page", "Pages", "Words", "draw"]

#: Papers by their key: width and height [pt].
PAPERS: dict[str, tuple[float, float]] = {"letter": LETTER, "a4": A4}
_MARGIN = 28.0  # printers leave about 6 mm, and a sheet is held by its edge
_PAD = 4.0
_HEAD, _FOOT = 30.0, 20.0


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph of a cell: its text, size [pt], and whether it is bold or framed."""

    text: str
    size: float = TEXT_PT
    bold: bool = False
    framed: bool = False
    most: int = 0


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its head, and its share of the width."""

    head: str
    share: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """A rectangle on a page and the text in it: from the left and the top [pt]."""

    x: float
    top: float
    width: float
    height: float
    text: str = ""


@dataclass(slots=True)
class Page:
    """One page: its sheet number, lines of text at their place, frames, and cells to look at."""

    sheet: str
    texts: list[tuple[float, float, Line]] = field(default_factory=list)
    frames: list[tuple[Cell, float]] = field(default_factory=list)
    cells: list[Cell] = field(default_factory=list)


class Pages:
    """Pages of one sheet, filled from the top.

    Parameters
    ----------
    paper : str
        ``letter`` or ``a4``.
    title, day : str
        At the top left.
    number : callable
        Gives the sheet's number by its page, from 1.
    """

    def __init__(self, paper: str, title: str, day: str, number: Callable[[int], str]) -> None:
        if paper not in PAPERS:
            raise BadValue(f"There is no paper {paper[:20]!r}; use letter or a4.", where="paper")
        fonts_ready()
        self.wide = PAPERS[paper][0] - 2 * _MARGIN
        self.tall = PAPERS[paper][1]
        self._title, self._day, self._number = title, day, number
        self.pages: list[Page] = []
        self.top = 0.0
        self._heads: Sequence[Column] = ()
        self.page()

    @property
    def room(self) -> float:
        """Return what is left of the page [pt]."""
        return self.tall - _MARGIN - _FOOT - self.top

    def page(self) -> None:
        """Begin a further page; a table goes on under its heads."""
        page = Page(self._number(len(self.pages) + 1))
        self.pages.append(page)
        number = one_line(page.sheet, 140, all_bold=True, size=18)
        self._put(_MARGIN + self.wide - number.width, _MARGIN, number)
        left = self.wide - number.width - 12
        self._put(_MARGIN, _MARGIN, one_line(self._title, left * 0.68, all_bold=True, size=16))
        day = one_line(self._day, left * 0.32, size=13)
        self._put(_MARGIN + left - day.width, _MARGIN + 2, day)
        self.top = _MARGIN + _HEAD
        if self._heads:
            self._head_row()

    def needs(self, height: float) -> None:
        """Begin a further page if so much does not fit any more [pt]."""
        if height > self.room and self.top > _MARGIN + _HEAD + 1:
            self.page()

    def gap(self, height: float) -> None:
        """Leave nothing, so high [pt]."""
        self.top += height

    def words(self, *paragraphs: Words) -> None:
        """Write paragraphs across the page."""
        for one in paragraphs:
            lines = _lines(one, self.wide - (2 * _PAD if one.framed else 0))
            tall = sum(line.height for line in lines) + (2 * _PAD if one.framed else 0)
            self.needs(tall)
            frame = Cell(_MARGIN, self.top, self.wide, tall, one.text)
            self.pages[-1].cells.append(frame)
            self._paragraph(lines, frame, framed=one.framed)
            self.top += tall

    def table(self, columns: Sequence[Column]) -> None:
        """Begin a table; its heads stand on each page."""
        self._heads = columns
        self._head_row()

    def end_table(self) -> None:
        """End the table; what follows has no heads."""
        self._heads = ()

    def row(
        self, cells: Sequence[str | Words | Sequence[Words]], *, least: float = 24.0,
        columns: Sequence[Column] = (),
    ) -> None:  # fmt: skip
        """Write a row of cells with lines around them; an empty cell is a box to write in.

        Parameters
        ----------
        cells : sequence
            Text, or paragraphs, of each column.
        least : float
            Least height [pt]: what is written in by hand needs 24.
        columns : sequence of Column
            Left out, those of the table.
        """
        heads = columns or self._heads
        whole = sum(column.share for column in heads)
        widths = [self.wide * column.share / whole for column in heads]
        laid = [_laid(cell, width) for cell, width in zip(cells, widths, strict=True)]
        tall = max([least, *(height for _, height in laid)])
        self.needs(tall)
        x = _MARGIN
        for column, width, (parts, _) in zip(heads, widths, laid, strict=True):
            text = " ".join(words.text for words, _ in parts)
            frame = Cell(x, self.top, width, tall, text)
            self.pages[-1].frames.append((frame, 0.7))
            self.pages[-1].cells.append(frame)
            self._cell(parts, frame, right=column.right)
            x += width
        self.top += tall

    def _cell(
        self, parts: Sequence[tuple[Words, Sequence[Line]]], frame: Cell, *, right: bool
    ) -> None:
        top = frame.top + _PAD / 2
        for words, lines in parts:
            tall = sum(line.height for line in lines) + (2 * _PAD if words.framed else 0)
            inner = Cell(frame.x + _PAD, top, frame.width - 2 * _PAD, tall)
            self._paragraph(lines, inner, framed=words.framed, right=right)
            top += tall + (1 if words.framed else 0)

    def _paragraph(
        self, lines: Sequence[Line], frame: Cell, *, framed: bool, right: bool = False
    ) -> None:
        top = frame.top
        inset = _PAD if framed else 0.0
        if framed:
            self.pages[-1].frames.append((frame, 1.8))
            top += _PAD
        for line in lines:
            x = frame.x + (frame.width - line.width if right else inset)
            self._put(x, top, line)
            top += line.height

    def _put(self, x: float, top: float, line: Line) -> None:
        self.pages[-1].texts.append((x, top, line))

    def _head_row(self) -> None:
        heads = self._heads
        self.row([Words(column.head, bold=True) for column in heads], least=18, columns=heads)


def _lines(words: Words, width: float) -> list[Line]:
    return wrap(words.text, width, all_bold=words.bold, size=words.size, most=words.most)


def _laid(
    cell: str | Words | Sequence[Words], width: float
) -> tuple[list[tuple[Words, list[Line]]], float]:
    if isinstance(cell, str):
        cell = Words(cell)
    parts = [cell] if isinstance(cell, Words) else list(cell)
    laid = [(one, _lines(one, width - 2 * _PAD - (2 * _PAD if one.framed else 0)))
            for one in parts if one.text]  # fmt: skip
    tall = sum(line.height for _, lines in laid for line in lines)
    return laid, tall + sum(2 * _PAD + 1 for one, _ in laid if one.framed) + _PAD


def draw(pages: Sequence[Page], paper: str, title: str, foot: tuple[str, str]) -> bytes:
    """Return pages as one PDF file, the same bytes for the same pages.

    Parameters
    ----------
    pages : sequence of Page
        All sheets, in order.
    paper : str
        ``letter`` or ``a4``.
    title : str
        Of the file.
    foot : (str, str)
        At the foot of each page, before and after its place among all.
    """
    fonts_ready()
    width, height = PAPERS[paper]
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), invariant=1)
    canvas.setTitle(title)
    canvas.setAuthor("collop")
    canvas.setFillColor(black)
    for number, page in enumerate(pages, 1):
        for frame, thick in page.frames:
            canvas.setLineWidth(thick)
            canvas.rect(frame.x, height - frame.top - frame.height, frame.width, frame.height)
        for x, top, line in page.texts:
            _write(canvas, x, height - top - line.drop, line)
        told = f"{foot[0]}, page {number} of {len(pages)}, {foot[1]}"
        line = one_line(told, width - 2 * _MARGIN, size=TEXT_PT)
        _write(canvas, _MARGIN, _MARGIN - 2, line)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _write(canvas: Canvas, x: float, base: float, line: Line) -> None:
    for run in line.runs:
        canvas.setFont(run.font, run.size)
        canvas.drawString(x + run.x, base, run.text)
