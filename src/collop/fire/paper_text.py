"""Words on the Fire Sheet: the embedded fonts, and lines in which clock times stand out.

Nothing is set smaller than `TEXT_PT`; a clock time is never set smaller than `TIME_PT`, wherever
it stands, so that it is read at arm's length. Common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import groupby

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from collop.fonts import font_file
from collop.words import said

__all__ = [
    "BOLD",
    "PLAIN",
    "TEXT_PT",
    "TIME_PT",
    "Line",
    "Run",
    "fonts_ready",
    "one_line",
    "wrap",
    "wrap_parts",
]

TEXT_PT = 12.0
TIME_PT = 16.0
PLAIN, BOLD = "CollopSans", "CollopSans-Bold"
_TIME = re.compile(r"(?<!\d)\d{1,2}:\d{2}(?!\d)")
_LEADING = 1.2
# a name pasted from anywhere must not draw boxes or push text out of its line
_UNPRINTED = re.compile(r"[\x00-\x1f\x7f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]+")
# a figure stays with its unit
_UNIT = re.compile(
    r"(?<=\d) (?=(?:min|h|lb|kg|oz|g|mm|sq|\N{DEGREE SIGN}[CF])\b|%|\N{DEGREE SIGN})"
    r"|(?<=\bsq) (?=(?:in|cm)\b)"
)
_SPACES = re.compile(r"[ \t\r\n\f\v]+")
_ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring words of one font and size; `x` from the start of the line [pt]."""

    x: float
    text: str
    font: str
    size: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its runs, its width and its height [pt]."""

    runs: tuple[Run, ...]
    width: float
    height: float

    @property
    def drop(self) -> float:
        """Return how far the baseline lies below the top of the line [pt]."""
        return 0.78 * self.height


@cache
def fonts_ready() -> None:
    """Register the two fonts with the PDF library, once."""
    pdfmetrics.registerFont(TTFont(PLAIN, str(font_file("plain"))))
    pdfmetrics.registerFont(TTFont(BOLD, str(font_file("bold"))))


@lru_cache(maxsize=4096)  # a sheet is laid out many times over with the same words
def _width(text: str, font: str, size: float) -> float:
    return float(pdfmetrics.stringWidth(text, font, size))


def _words(text: str) -> list[str]:
    """Return the words of a text; a figure and its unit are one word."""
    plain = _UNIT.sub("\N{NO-BREAK SPACE}", _UNPRINTED.sub(" ", text))
    return [word for word in _SPACES.split(plain) if word]


def _look(word: str, *, bold: bool, size: float) -> tuple[str, float]:
    if _TIME.search(word):
        return BOLD, max(size, TIME_PT)
    return (BOLD if bold else PLAIN), size


def _broken(word: str, width: float, font: str, size: float) -> list[str]:
    """Return a word in parts that each fit the width."""
    parts, part = [], ""
    for letter in word:
        if part and _width(part + letter, font, size) > width:
            parts.append(part)
            part = ""
        part += letter
    return [*parts, part]


def _line(words: list[tuple[str, str, float]]) -> Line:
    runs: list[Run] = []
    x = 0.0
    for (font, size), group in groupby(words, key=lambda word: (word[1], word[2])):
        text = " ".join(word for word, _, _ in group)
        if runs:
            x += _width(" ", PLAIN, TEXT_PT)
        runs.append(Run(x, text, font, size))
        x += _width(text, font, size)
    tallest = max((run.size for run in runs), default=TEXT_PT)
    return Line(tuple(runs), x, _LEADING * tallest)


def wrap(
    text: str, width: float, *, bold: str = "", all_bold: bool = False, size: float = TEXT_PT,
    most: int = 0,
) -> list[Line]:  # fmt: skip
    """Return text in lines of at most a width.

    Parameters
    ----------
    text : str
        What follows the bold part.
    width : float
        Width of a line [pt].
    bold : str
        Words in bold before the text.
    all_bold : bool
        Whether the text is bold too.
    size : float
        Size of the words [pt]; clock times are at least `TIME_PT`.
    most : int
        Most lines; what does not fit ends in an ellipsis. 0 is without limit.
    """
    lines = wrap_parts([(bold, True), (text, all_bold)], lambda _above: width, size=size)
    return lines if not most or len(lines) <= most else _cut(lines, most, width)


def wrap_parts(
    parts: Sequence[tuple[str, bool]], width_at: Callable[[float], float], *, size: float = TEXT_PT
) -> list[Line]:
    """Return parts of text, each bold or not, as the lines of one paragraph.

    Each part is set in the language that is read now (`collop.words.said`).

    Parameters
    ----------
    parts : sequence of (str, bool)
        Text, and whether it is bold.
    width_at : callable
        Width of a line [pt] by the height of the lines above it [pt], to run around something.
    size : float
        Size of the words [pt]; clock times are at least `TIME_PT`.
    """
    fonts_ready()
    lines: list[Line] = []
    now: list[tuple[str, str, float]] = []
    width = width_at(0.0)
    spoken = ((said(text), is_bold) for text, is_bold in parts)
    for word, is_bold in ((word, is_bold) for text, is_bold in spoken for word in _words(text)):
        font, its_size = _look(word, bold=is_bold, size=size)
        whole = _width(word, font, its_size) <= width
        for part in [word] if whole else _broken(word, width, font, its_size):
            if now and _line([*now, (part, font, its_size)]).width > width:
                lines.append(_line(now))
                now = []
                width = width_at(sum(line.height for line in lines))
            now.append((part, font, its_size))
    return [*lines, _line(now)] if now else lines


def _cut(lines: list[Line], most: int, width: float) -> list[Line]:
    """Keep the first lines; the last of them ends in an ellipsis."""
    last = lines[most - 1]
    words = [(word, run.font, run.size) for run in last.runs for word in run.text.split(" ")]
    while words:
        text, font, size = words[-1]
        shorter = _line([*words[:-1], (text + _ELLIPSIS, font, size)])
        if shorter.width <= width:
            return [*lines[: most - 1], shorter]
        words = [*words[:-1], (text[:-1], font, size)] if len(text) > 1 else words[:-1]
    return lines[: most - 1]


def one_line(text: str, width: float, *, all_bold: bool = False, size: float = TEXT_PT) -> Line:
    """Return text in one line, cut with an ellipsis where it does not fit."""
    found = wrap(text, width, all_bold=all_bold, size=size, most=1)
    return found[0] if found else _line([])
