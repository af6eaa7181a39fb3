"""Draw modules as dots, and read them with another maker's reader."""

from __future__ import annotations

import numpy as np
import zxingcpp

_ABOVE = 4  # a strip of paper above and below the bars, as on any ticket


def drawn(code, dots):
    """Return a bar code with its quiet zone as dark and light dots."""
    side, above = code.quiet
    above += _ABOVE
    paper = np.full(
        ((code.height + 2 * above) * dots, (code.width + 2 * side) * dots), 255, np.uint8
    )
    for x, y, width, height in code.bars:
        top, left = (y + above) * dots, (x + side) * dots
        paper[top : top + height * dots, left : left + width * dots] = 0
    return paper


def read(code, dots):
    """Return what the reader finds, one text and symbology identifier a code."""
    found = zxingcpp.read_barcodes(drawn(code, dots))
    return [(one.text, one.symbology_identifier) for one in found]
