"""Bar codes on a ticket: whole dots a module, quiet zones kept, the text under a linear code.

Widths of a module and heights are those of the general specifications, from memory, not checked:
retail codes 0.264 to 0.66 mm a module and 22.85 mm high at 0.33 mm; GS1-128 from 0.25 mm. A linear
code on a small form is cut in height to `LEAST_MM` at least, never in width. A matrix code has at
least three dots a module at 203 dots per inch (0.375 mm): common practice, no published source.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import lru_cache

from collop.ticket.layout_model import CodeBox, Form, Misfit, TextBox
from collop.ticket.layout_text import drop, line_height, text_width
from collop.ticket.symbols import Modules, symbol_of

__all__ = ["LEAST_MM", "Block", "Sizes", "code_block", "measures_of", "module_dots"]

#: The least height of the bars of a linear code [mm].
LEAST_MM = 8.0
_RETAIL = (0.264, 0.66)
#: Least and most width of a module [mm].
_MODULE_MM: dict[str, tuple[float, float]] = {
    "upc-a": _RETAIL,
    "ean-13": _RETAIL,
    "databar-expanded-stacked": _RETAIL,
    "gs1-128": (0.25, 1.016),
}
_MATRIX_MM = (0.375, 0.99)
_STRETCHED = {"upc-a", "ean-13", "gs1-128"}
_FULL_AT_033 = 22.85  # height [mm] at a module of 0.33 mm
_FULL_128 = 31.75
_COLUMNS = range(10, 0, -1)
_GAP_MM = 0.8
_AI = re.compile(r"(?=\(\d)")


@dataclass(frozen=True, slots=True)
class Sizes:
    """How large codes are wanted.

    Parameters
    ----------
    module_mm : float
        A module is the widest that is not over this, or the least allowed [mm].
    tall : int
        Height of the bars of a linear code [dots].
    px : int
        Type size of the text under it [dots].
    """

    module_mm: float
    tall: int
    px: int


@dataclass(frozen=True, slots=True)
class Block:
    """Codes side by side or below each other, from a top left corner of their own.

    Parameters
    ----------
    w, h : int
        Its room [dots].
    codes, texts : tuple
        What is in it.
    grows : int
        How much taller a linear code in it may become [dots]; 0 for none.
    """

    w: int
    h: int
    codes: tuple[CodeBox, ...]
    texts: tuple[TextBox, ...]
    grows: int

    def at(self, x: int, y: int) -> Block:
        """Return it moved by x and y [dots]."""
        codes = tuple(
            replace(
                code, x=code.x + x, y=code.y + y,
                bars=tuple((bx + x, by + y, w, h) for bx, by, w, h in code.bars),
            )
            for code in self.codes
        )  # fmt: skip
        texts = tuple(
            replace(text, x=text.x + x, y=text.y + y, baseline=text.baseline + y)
            for text in self.texts
        )
        return replace(self, codes=codes, texts=texts)


def module_dots(kind: str, form: Form, module_mm: float) -> int:
    """Return the whole dots of a module: the most that is not over `module_mm`, or the least."""
    low, high = _MODULE_MM.get(kind, _MATRIX_MM)
    dot = form.mm(1)
    least = math.ceil(low / dot - 1e-9)
    most = max(least, math.floor(high / dot + 1e-9))
    return min(most, max(least, math.floor(module_mm / dot + 1e-9)))


def _full(kind: str, dots: int, form: Form) -> int:
    """Return the standard's full height of the bars [dots]."""
    mm = _FULL_128 if kind == "gs1-128" else _FULL_AT_033 * form.mm(dots) / 0.33
    return form.dots(mm)


@lru_cache(maxsize=256)  # one ticket is tried at several sizes
def _symbol(kind: str, data: str, columns: int | None) -> Modules:
    return symbol_of(kind, data, columns=columns)


def _fitting(kind: str, data: str, dots: int, width: int) -> Modules:
    """Return the code; a stacked one as low as fits, and as narrow as it can be at that height."""
    if kind != "databar-expanded-stacked":
        return _symbol(kind, data, None)
    found = _symbol(kind, data, _COLUMNS[-1])
    fitted = False
    for columns in _COLUMNS:
        symbol = _symbol(kind, data, columns)
        if (symbol.width + 2 * symbol.quiet[0]) * dots > width:
            continue
        if fitted and symbol.height > found.height:
            break
        found, fitted = symbol, True
    return found


def _text_lines(text: str, px: int, width: int) -> list[str]:
    """Return the text under a code; a long one is broken before an identifier's bracket."""
    lines = [""]
    for piece in _AI.split(text):
        if lines[-1] and text_width(lines[-1] + piece, px, bold=False) > width:
            lines.append("")
        lines[-1] += piece
    return [line for line in lines if line]


def _sized(kind: str, data: str, form: Form, width: int, sizes: Sizes) -> Block:
    """Return one code with the text under it."""
    least = module_dots(kind, form, 0.0)
    for dots in range(module_dots(kind, form, sizes.module_mm), least - 1, -1):
        symbol = _fitting(kind, data, dots, width)
        w = (symbol.width + 2 * symbol.quiet[0]) * dots
        if w <= width:
            break
    else:
        raise Misfit(f"the bar code {kind}", code=kind, needs_mm=form.mm(w))
    side, above = symbol.quiet[0] * dots, symbol.quiet[1] * dots
    full = _full(kind, dots, form)
    stretched = kind in _STRETCHED
    tall = min(sizes.tall, full) if stretched else symbol.height * dots

    # every bar becomes taller by the same, so that guard bars stand out as far as before
    more = tall - symbol.height * dots
    bars = tuple(
        (side + x * dots, above + y * dots, bw * dots, bh * dots + more)
        for x, y, bw, bh in symbol.bars
    )
    box = CodeBox(0, 0, w, tall + 2 * above, kind, data, dots, bars)
    texts = _under(symbol.text, sizes.px, w, box.h)
    end = texts[-1].y + texts[-1].h if texts else box.h
    return Block(w, end, (box,), texts, full - tall if stretched else 0)


def _under(text: str, px: int, w: int, y: int) -> tuple[TextBox, ...]:
    boxes: list[TextBox] = []
    for line in _text_lines(text, px, w):
        wide = text_width(line, px, bold=False)
        if wide > w:
            raise Misfit("the text under the bar code")
        boxes.append(TextBox(
            (w - wide) // 2, y, wide, line_height(px), y + drop(px), px, line, bold=False,
            role="code",
        ))  # fmt: skip
        y += line_height(px)
    return tuple(boxes)


@lru_cache(maxsize=64)  # asked for again with the block and without, and for each place
def code_block(
    codes: tuple[tuple[str, str], ...], form: Form, width: int, sizes: Sizes
) -> Block | None:
    """Return codes side by side as far as they fit a width, then below each other.

    Parameters
    ----------
    codes : tuple of (kind, data)
        In their order.
    form : Form
        Says the dots to the mm.
    width : int
        Most width [dots].
    sizes : Sizes
        How large they are wanted.

    Returns
    -------
    Block or None
        None for no codes; as wide as its widest row.

    Raises
    ------
    Misfit
        If one is wider than the width at its narrowest module.
    BadValue
        If a code cannot be made of its data.
    """
    if not codes:
        return None
    rows: list[list[Block]] = []
    for kind, data in codes:
        block = _sized(kind, data, form, width, sizes)
        if rows and _sum(rows[-1]) + block.w <= width:
            rows[-1].append(block)
        else:
            rows.append([block])
    gap = form.dots(_GAP_MM)
    # a little more than the quiet zones between codes, where there is room for it
    gaps = [min(gap, (width - _sum(row)) // max(1, len(row) - 1)) for row in rows]
    wides = [_sum(row) + between * (len(row) - 1)
             for row, between in zip(rows, gaps, strict=True)]  # fmt: skip
    return _stacked(rows, gaps, wides, gap)


def _sum(row: list[Block]) -> int:
    return sum(one.w for one in row)


def _stacked(rows: list[list[Block]], gaps: list[int], wides: list[int], gap: int) -> Block:
    """Return rows of codes below each other, each in the middle; all lengths in dots."""
    wide = max(wides)
    placed: list[Block] = []
    y = 0
    for row, between, own in zip(rows, gaps, wides, strict=True):
        tallest = max(one.h for one in row)
        x = (wide - own) // 2
        for one in row:
            placed.append(one.at(x, y + (tallest - one.h) // 2))
            x += one.w + between
        y += tallest + gap
    return Block(
        wide, y - gap,
        tuple(code for one in placed for code in one.codes),
        tuple(text for one in placed for text in one.texts),
        max(one.grows for one in placed),
    )  # fmt: skip


def measures_of(code: CodeBox, form: Form) -> str:
    """Return how large a code is drawn, in words, with the full height of a linear one."""
    said = f"{code.kind}: {code.dots} dots ({form.mm(code.dots):.3f} mm) a module"
    if code.kind not in _STRETCHED:
        return said
    tall = max(y + h for _, y, _, h in code.bars) - min(y for _, y, _, _ in code.bars)
    full = form.mm(_full(code.kind, code.dots, form))
    return f"{said}, {form.mm(tall):.1f} mm high of {full:.1f} mm"
