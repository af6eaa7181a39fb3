"""Words on a ticket: which letters can be drawn, how wide they are, and where a line breaks.

Widths are those of the drawn letters, in whole dots, with the stems set to the printer's dots.

The least height of a letter is 1/16 in (rule LB010 for the safe-handling block; we hold every
other line to it as well, by its capitals). Where a small letter is meant, it is measured as the
small "x" is: 0.547 of the type size in this face; a capital is 0.729 of it.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.fonts import font_file, unprinted
from collop.ticket.layout_model import Form, Misfit

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

__all__ = ["clean", "face", "least_px", "line_height", "text_width", "wrap"]

_LEAST_IN = 1 / 16
_X_HEIGHT, _CAPITAL = 0.547, 0.729  # of the em, DejaVu Sans 2.37, table OS/2
_MOST_LETTERS = 3000  # more than the largest form holds of the smallest letters
_SPACES = re.compile(r"\s+")
_RIGHT_TO_LEFT = {"R", "AL"}
_UNSEEN = {"Cf"}  # marks of direction, joiners: nothing is lost without them
_REFUSED = {"Cc", "Cs", "Co", "Cn", "Mn", "Me"}
# a figure stays with its unit
_UNIT = re.compile(r"(?<=\d) (?=(?:lb|kg|oz|g|mm|min|F|C)\b)")


def clean(text: str, element: str, where: str) -> str:
    """Return text on one line, or raise where the face lacks a letter of it.

    Parameters
    ----------
    text : str
        As in the plan; line ends and tabs become spaces.
    element : str
        What it is, in words, e.g. ``the product name``.
    where : str
        Its path.

    Raises
    ------
    BadValue
        If it is too long for any form, or has letters that cannot be drawn.
    """
    said = element[:1].upper() + element[1:]
    if len(text) > _MOST_LETTERS:
        raise BadValue(
            f"{said} has {len(text):,} letters; no ticket holds more than {_MOST_LETTERS:,}, "
            "so shorten it.", where=where,
        )  # fmt: skip
    spaced = _SPACES.sub(" ", unicodedata.normalize("NFC", text)).strip()
    seen = "".join(letter for letter in spaced if unicodedata.category(letter) not in _UNSEEN)
    lacking = [letter for letter in seen if unicodedata.category(letter) in _REFUSED]
    missing = "".join(lacking) or unprinted(seen) or unprinted(seen, "bold")
    if missing:
        named = ", ".join(f"U+{ord(letter):04X}" for letter in dict.fromkeys(missing[:5]))
        raise BadValue(
            f"{said} has letters the ticket's type lacks ({named}); write it without them.",
            where=where,
        )
    if any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in seen):
        raise BadValue(
            f"{said} is written from right to left, which a ticket cannot show rightly; "
            "write it in letters that run from left to right.", where=where,
        )  # fmt: skip
    return seen


@cache
def face(px: int, *, bold: bool) -> FreeTypeFont:
    """Return the face at a size [dots to the em]."""
    from PIL import ImageFont  # noqa: PLC0415  importing the room stays light

    file = font_file("bold" if bold else "plain")
    return ImageFont.truetype(str(file), px, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=65536)  # a ticket is laid out at several sizes with the same words
def text_width(text: str, px: int, *, bold: bool) -> int:
    """Return the width of drawn text [dots]."""
    return math.ceil(face(px, bold=bold).getlength(text, mode="1"))


def line_height(px: int) -> int:
    """Return the room of one line of a type size [dots]: from the tallest letter to the lowest."""
    return math.ceil(1.06 * px)


def drop(px: int) -> int:
    """Return how far the baseline lies below the top of a line [dots]."""
    return math.ceil(0.8 * px)


def least_px(form: Form, *, small_letters: bool) -> int:
    """Return the least type size [dots] whose letters are 1/16 in high.

    Parameters
    ----------
    form : Form
        Says the dots to the inch.
    small_letters : bool
        Whether even a small letter is to be that high, or a capital.
    """
    share = _X_HEIGHT if small_letters else _CAPITAL
    return math.ceil(_LEAST_IN * form.dpi / share)


def wrap(
    text: str, px: int, widths: tuple[int, int, int], element: str, *, bold: bool
) -> list[str]:
    """Return text in lines, broken between words only.

    Parameters
    ----------
    text : str
        Cleaned text.
    px : int
        Type size [dots].
    widths : (int, int, int)
        Width of the first lines [dots], how many they are, and the width of those after them.
    element : str
        What it is, in words.
    bold : bool
        In the bold face.

    Raises
    ------
    Misfit
        If one word is wider than a line.
    """
    lines: list[str] = []
    now = ""
    for word in _UNIT.sub("\N{NO-BREAK SPACE}", text).split(" "):
        width = widths[0] if len(lines) < widths[1] else widths[2]
        wider = f"{now} {word}" if now else word
        if text_width(wider, px, bold=bold) <= width:
            now = wider
            continue
        if now:
            lines.append(now)
            width = widths[0] if len(lines) < widths[1] else widths[2]
        if text_width(word, px, bold=bold) > width:
            raise Misfit(element)
        now = word
    return [*lines, now] if now else lines
