"""A ticket's plan laid out on its form: type as large as fits, codes in whole dots, nothing cut.

Sizes are tried from large to small. What does not fit at the smallest is refused with the element
and the next form that holds it. The safe-handling block has small letters of 1/16 in at least
(rule LB010) and goes onto a part of its own where the form has no room for it; only where that
part is too small are its letters measured by their capitals, and only where even that is too
small does it go on over two parts. Both are told in the notes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from collop.errors import BadValue
from collop.ticket.layout_codes import Sizes, code_block, measures_of
from collop.ticket.layout_handling import handling_block, sorted_handling
from collop.ticket.layout_model import FORMS, Form, Layout, Misfit, Part, form_of
from collop.ticket.layout_reading import Ask, read_plan
from collop.ticket.layout_rows import Hole, Line, boxes_of, flow, mark, spread
from collop.ticket.layout_text import least_px

__all__ = ["MARGIN_MM", "layout", "layout_of", "measures"]

#: What is left free at each edge [mm]; label printers shift the paper by about half of it.
MARGIN_MM = 1.2
_GAP_MM = 0.8
#: Scale of the type, height of a linear code [mm], widest module [mm]; the largest first.
_TRIES = (
    (2.2, 26.0, 0.51), (1.9, 24.0, 0.51), (1.7, 22.0, 0.51), (1.5, 20.0, 0.51), (1.35, 18.0, 0.4),
    (1.25, 16.0, 0.4), (1.15, 14.0, 0.4), (1.08, 12.0, 0.4), (1.0, 11.0, 0.4), (0.92, 10.0, 0.4),
    (0.85, 9.0, 0.0), (0.8, 8.0, 0.0), (0.74, 8.0, 0.0),
)  # fmt: skip
#: The largest scale on each form: type that shouts is no better read.
_MOST = {"58x40": 1.0, "58x60": 1.15, "80x50": 1.15, "80x80": 1.5, "4x6": 2.2}
#: Share of the width and of the height that codes beside the words may take; 1 is below them.
_PLACES = ((0.36, 0.5), (1.0, 1.0))
_LAST_PLACE = ((0.56, 1.0),)
_WIDE_CODES = {"gs1-128", "databar-expanded-stacked"}
_HEADED = ("name", "lot")  # what a further part says of its pack
_HEAD_SHARE = 3  # a third of the part at the most
_MOST_HANDLING = 1.3  # times the least size of its letters
_UNDER_MM = 2.0  # type under a linear code, before it is scaled
_BY_CAPITALS = (
    "The letters of the safe-handling block are 1/16 in high by their capitals, small letters "
    "lower; a larger form has them larger."
)


@dataclass(frozen=True, slots=True)
class _Handling:
    """The safe-handling block: its heading and its statements with their parts."""

    head: Line
    statements: tuple[tuple[str, Line], ...]


def layout(plan: Mapping[str, Any]) -> Layout:
    """Return a plan laid out.

    Parameters
    ----------
    plan : mapping
        A ``collop.ticket.plan/1`` object.

    Raises
    ------
    BadValue
        If it does not fit its form, naming the element and the next form that holds it; or if it
        has letters that cannot be drawn, or a code that cannot be made.
    """
    return layout_of(read_plan(plan))


def layout_of(ask: Ask) -> Layout:
    """Return what was read from a plan laid out; raises as `layout` does."""
    try:
        return _laid(ask)
    except Misfit as misfit:
        raise BadValue(_refusal(ask, misfit), where="$.form.size") from None


def measures(found: Layout) -> list[str]:
    """Return how large each code of a layout is drawn, in words."""
    return [measures_of(code, found.form) for part in found.parts for code in part.codes]


def _refusal(ask: Ask, misfit: Misfit) -> str:
    """Say what does not fit, and what does."""
    sizes = list(FORMS)
    holds = next((s for s in sizes[sizes.index(ask.form.size) + 1 :] if _holds(ask, s)), "")
    form = ask.form.words
    if misfit.code:
        room = ask.form.mm(ask.form.width) - 2 * MARGIN_MM
        said = (
            f"The bar code {misfit.code} needs {misfit.needs_mm:.1f} mm with its quiet zones, and "
            f"a ticket of {form} has {room:.1f} mm"
        )
        wide = misfit.code in _WIDE_CODES
        instead = "the code gs1-datamatrix" if wide else "a code with less in it"
        return f"{said}; use {f'form {holds} or ' if holds else ''}{instead}."
    said = f"{misfit.element[:1].upper()}{misfit.element[1:]}"
    verb = "does" if misfit.element.split()[-1] in _SINGULAR else "do"
    asks = f"use form {holds}" if holds else "shorten what it says or leave a code out"
    if _WIDE_CODES & {kind for kind, _ in ask.codes}:
        asks += " or the code gs1-datamatrix"
    return f"{said} {verb} not fit a ticket of {form}; {asks}."


_SINGULAR = {"shop", "name", "weight", "price", "line", "lot", "tare", "heading", "block"}


def _holds(ask: Ask, size: str) -> bool:
    try:
        _laid(replace(ask, form=form_of(size, ask.form.dpi)))
    except (Misfit, BadValue):
        return False
    return True


def _laid(ask: Ask) -> Layout:
    """Return the layout with the fewest parts whose letters are high enough."""
    head, statements = sorted_handling(ask.lines)
    if head is None:
        return Layout(ask.form, (_main(ask, None, 0, ""),))
    handling = _Handling(head, tuple(statements))
    strict = least_px(ask.form, small_letters=True)
    try:
        return Layout(ask.form, (_main(ask, handling, strict, ""),))
    except Misfit as misfit:
        if misfit.code:
            raise
    _check_head(ask)
    for pages, notes in _apart(ask, handling, strict):
        count = 1 + len(pages)
        main = _main(ask, None, 0, f"1 of {count}")
        said = f"The ticket is printed in {count} parts; all of them go on the pack."
        return Layout(ask.form, (main, *pages), (said, *notes))
    raise Misfit("the safe-handling block")


def _apart(
    ask: Ask, handling: _Handling, strict: int
) -> Iterator[tuple[tuple[Part, ...], tuple[str, ...]]]:
    """Yield the safe-handling block on parts of its own, with notes, the best first."""
    loose = least_px(ask.form, small_letters=False)
    for px in range(round(_MOST_HANDLING * strict), loose - 1, -1):
        try:
            page = _handling_part(ask, handling, px, "2 of 2")
        except Misfit:
            continue
        yield (page,), (_BY_CAPITALS,) if px < strict else ()
        break
    for px, notes in [(strict, ()), (loose, (_BY_CAPITALS,))]:
        for at in range(len(handling.statements) - 1, 0, -1):
            halves = (handling.statements[:at], handling.statements[at:])
            try:
                yield (
                    tuple(
                        _handling_part(ask, _Handling(handling.head, half), px, f"{page} of 3")
                        for page, half in enumerate(halves, start=2)
                    ),
                    notes,
                )
            except Misfit:
                continue


def _check_head(ask: Ask) -> None:
    """Refuse a name or a lot that no further part has room for, by its own name."""
    form = ask.form
    margin = form.dots(MARGIN_MM)
    width, limit = form.width - 2 * margin, form.height - 2 * margin
    flow(_head_of(ask), form, 0.0, Hole(width, limit, width), limit // _HEAD_SHARE)


def _head_of(ask: Ask) -> list[Line]:
    return [
        replace(line, weight="small", side="full") for line in ask.lines if line.role in _HEADED
    ]


def _handling_part(ask: Ask, handling: _Handling, px: int, said: str) -> Part:
    """Return a further part: which pack it is of, and the block."""
    form = ask.form
    margin = form.dots(MARGIN_MM)
    width, limit = form.width - 2 * margin, form.height - 2 * margin
    hole = Hole(width, limit, width)
    rows = mark(flow(_head_of(ask), form, 0.0, hole, limit), said, form, hole, limit)
    top = rows[-1].y + rows[-1].h + form.dots(_GAP_MM) // 2
    tall, block = handling_block(handling.head, handling.statements, form, width, px)
    if top + tall > limit:
        raise Misfit("the safe-handling block")
    placed = _moved(block, margin, margin + top)
    return replace(placed, texts=(*boxes_of(rows, margin, margin), *placed.texts))


def _moved(part: Part, x: int, y: int) -> Part:
    return Part(
        tuple(replace(b, x=b.x + x, y=b.y + y, baseline=b.baseline + y) for b in part.texts),
        (),
        tuple(replace(frame, x=frame.x + x, y=frame.y + y) for frame in part.frames),
        tuple(replace(sign, x=sign.x + x, y=sign.y + y) for sign in part.graphics),
    )


def _main(ask: Ask, handling: _Handling | None, px: int, said: str) -> Part:
    """Return the first part at the largest sizes that fit.

    Parameters
    ----------
    ask : Ask
        What is to be laid out.
    handling : _Handling or None
        The safe-handling block if it is to stand on this part.
    px : int
        Type size of the block [dots].
    said : str
        Which part it is, empty for the only one.
    """
    form = ask.form
    margin = form.dots(MARGIN_MM)
    width, limit = form.width - 2 * margin, form.height - 2 * margin
    block = Part()
    if handling is not None:
        tall, block = handling_block(handling.head, handling.statements, form, width, px)
        limit -= tall
        block = _moved(block, margin, margin + limit)
        limit -= form.dots(_GAP_MM)
    lines = [line for line in ask.lines if not line.role.startswith("handling")]
    last = Misfit("the words")
    for places in (_PLACES, _LAST_PLACE):
        for one in _tries(ask, lines, (width, limit), said):
            for place in places:
                try:
                    part = _set(one, *place)
                except Misfit as misfit:
                    last = misfit if places is _PLACES else last
                    continue
                return replace(
                    part, texts=(*part.texts, *block.texts), frames=block.frames,
                    graphics=block.graphics,
                )  # fmt: skip
    raise last


def _tries(ask: Ask, lines: Sequence[Line], room: tuple[int, int], said: str) -> Iterator[_Try]:
    """Yield the sizes a form may have, the largest first."""
    form = ask.form
    least = least_px(form, small_letters=False)
    for scale, tall_mm, module_mm in _TRIES:
        if scale <= _MOST[form.size]:
            sizes = Sizes(module_mm, form.dots(tall_mm), max(least, form.dots(_UNDER_MM * scale)))
            yield _Try(form, lines, ask.codes, *room, scale, sizes, said)


@dataclass(frozen=True, slots=True)
class _Try:
    """One try at the first part: its words and codes, its room [dots] and its sizes."""

    form: Form
    lines: Sequence[Line]
    codes: tuple[tuple[str, str], ...]
    width: int
    limit: int
    scale: float
    sizes: Sizes
    said: str


def _set(one: _Try, share: float, height: float) -> Part:
    """Return the part with its codes beside the last words, or below them for a share of 1."""
    beside = share < 1
    form, margin = one.form, one.form.dots(MARGIN_MM)
    gap = form.dots(_GAP_MM)
    most = round(one.width * share)
    block = code_block(one.codes, form, most, one.sizes)
    if block is None:
        hole, limit = Hole(one.width, one.limit, one.width), one.limit
    else:
        top = one.limit - block.h - gap
        if top < 0 or block.h > height * one.limit:
            raise Misfit("the bar codes")
        hole = Hole(one.width, top, one.width - block.w - gap if beside else one.width)
        limit = one.limit if beside else top
    rows = flow(one.lines, form, one.scale, hole, limit)
    if one.said:
        rows = mark(rows, one.said, form, hole, limit)
    if block is None:
        return Part(boxes_of(spread(rows, hole, limit), margin, margin))
    free = limit - rows[-1].y - rows[-1].h if rows and not beside else 0
    if min(free, block.grows) > 0:
        more = min(free, block.grows)
        taller = replace(one.sizes, tall=one.sizes.tall + more)
        grown = code_block(one.codes, form, most, taller)
        assert grown is not None
        limit -= max(0, grown.h - block.h)
        block = grown
    x = one.width - block.w if beside else (one.width - block.w) // 2
    placed = block.at(margin + x, margin + one.limit - block.h)
    words = boxes_of(spread(rows, hole, limit), margin, margin)
    return Part((*words, *placed.texts), placed.codes)
