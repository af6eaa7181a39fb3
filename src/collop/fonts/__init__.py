"""The fonts every paper of the shop is set in, carried along so that each printer shows the same.

Where they come from, and their digests, stand in ``README.md`` beside them.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from collop.errors import BadValue

__all__ = ["FONTS", "font_file", "unprinted"]

#: The faces by the name they are asked for with.
FONTS: dict[str, str] = {"plain": "DejaVuSans.ttf", "bold": "DejaVuSans-Bold.ttf"}
_HERE = Path(__file__).parent


def font_file(name: str) -> Path:
    """Return the file of a face, ``plain`` or ``bold``.

    Raises
    ------
    BadValue
        If there is no such face.
    """
    if name not in FONTS:
        raise BadValue(f"There is no font {name[:20]!r}; use {' or '.join(FONTS)}.")
    return _HERE / FONTS[name]


@cache
def _letters(name: str) -> frozenset[int]:
    from reportlab.pdfbase.ttfonts import TTFontFile  # noqa: PLC0415  heavy, and seldom wanted

    return frozenset(TTFontFile(str(font_file(name))).charToGlyph)


def unprinted(text: str, name: str = "plain") -> str:
    """Return the letters of a text that a face lacks, each once, in their order.

    Raises
    ------
    BadValue
        If there is no such face.

    Examples
    --------
    >>> unprinted("pork 肉")
    '肉'
    """
    there = _letters(name)
    return "".join(dict.fromkeys(letter for letter in text if ord(letter) not in there))
