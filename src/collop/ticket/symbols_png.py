"""One bar code as a picture of black and white dots, for trying a printer or a till.

References
----------
.. [1] Portable Network Graphics: greyscale of one bit, chunks IHDR, pHYs, IDAT, IEND (W3C).
"""

from __future__ import annotations

import struct
import zlib

from collop.errors import BadValue
from collop.ticket.symbols import Modules

__all__ = ["symbol_path", "symbol_png"]

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_MOST_DOTS = 20


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def symbol_png(code: Modules, dots: int = 3, *, dpi: int | None = None) -> bytes:
    """Return a bar code with its quiet zone as a PNG of one bit a dot.

    Parameters
    ----------
    code : Modules
        The bar code.
    dots : int
        Printer dots a module, 1 to 20.
    dpi : int, optional
        Dots an inch, written into the picture so that it prints at its size.

    Raises
    ------
    BadValue
        If `dots` is out of range.
    """
    if isinstance(dots, bool) or not 1 <= dots <= _MOST_DOTS:
        raise BadValue(f"A module is 1 to {_MOST_DOTS} dots wide, not {dots}.")
    side, above = code.quiet
    width, height = (code.width + 2 * side) * dots, (code.height + 2 * above) * dots
    rows = [(1 << width) - 1] * height  # one whole number a row, a set bit is a white dot
    for x, y, wide, high in code.bars:
        right = width - (x + wide + side) * dots
        dark = ((1 << wide * dots) - 1) << right
        for row in range((y + above) * dots, (y + high + above) * dots):
            rows[row] &= ~dark
    whole = -(-width // 8)
    spare = whole * 8 - width
    raw = b"".join(b"\0" + (row << spare).to_bytes(whole, "big") for row in rows)
    found = _SIGNATURE + _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0))
    if dpi is not None:
        per_metre = (dpi * 10000 + 127) // 254
        found += _chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1))
    return found + _chunk(b"IDAT", zlib.compress(raw, 9)) + _chunk(b"IEND", b"")


def symbol_path(code: Modules) -> str:
    """Return the dark bars as the path of a drawing (SVG), in modules, quiet zone included."""
    side, above = code.quiet
    return "".join(
        f"M{x + side} {y + above}h{wide}v{high}h-{wide}z" for x, y, wide, high in code.bars
    )
