"""The lower part of the printed Fire Sheet: carving, what is taken as given, cautions, the code."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from collop.fire.around import SALT_NOTE
from collop.fire.around_after import NUMBER_RULES
from collop.fire.paper_parts import Columns, Entry, Gap, Lines, Listed, Qr, Rule, beside
from collop.fire.paper_text import TEXT_PT, Line, wrap, wrap_parts

__all__ = ["carve_and_given", "carve_groups", "foot"]

_BETWEEN = 14.0
_TO_WRITE = 64.0  # least length of a line to write on
_GIVEN = "Taken as given; write what is different:"
Marked = list[tuple[str, bool]]


def carve_groups(plan: dict[str, Any]) -> list[tuple[list[str], str]]:
    """Return names and carve line, those alike together, the heaviest first.

    What needs no knife comes last, so that it is the first that finds no room.
    """
    names = _short_names(plan)
    groups: dict[str, list[str]] = {}
    heavy = sorted(plan["items"], key=lambda item: -Decimal(item["weight_lb"]))
    for item in heavy:
        if item["carve"]:
            groups.setdefault(item["carve"], []).append(names[item["id"]])
    return sorted(((who, line) for line, who in groups.items()), key=lambda one: _is_idle(one[1]))


def _is_idle(line: str) -> bool:
    return line.startswith("As ") or "nothing to carve" in line


def _short_names(plan: dict[str, Any]) -> dict[str, str]:
    """Return each name up to its first comma, where that is nobody else's."""
    heads = [item["name"].partition(",")[0] for item in plan["items"]]
    return {
        item["id"]: head if heads.count(head) == 1 and head.strip() else item["name"]
        for item, head in zip(plan["items"], heads, strict=True)
    }


def _carve_words(groups: Sequence[tuple[list[str], str]]) -> Marked:
    found: Marked = []
    for names, line in groups:
        # a line of the shop's own may begin with the name already
        says_who = line.casefold().startswith(tuple(name.casefold().split(" ")[0] for name in names
                                                    if name.strip()))  # fmt: skip
        if not says_who:
            found.append((f"{', '.join(names)}:", True))
        found.append((line, False))
    return found


def carve_and_given(plan: dict[str, Any], width: float, carve: int, given: int) -> list[Any]:
    """Return carve lines and what was taken as given, in the layout that is the lowest.

    Parameters
    ----------
    width : float
        Of the page without its margins [pt].
    carve, given : int
        Most carve lines, and most lines of what was taken as given.
    """
    carved = _carve_words(carve_groups(plan)[:carve])
    told = [one["what"] for one in plan["assumptions"][:given]]
    if not carved:
        return [Rule(), *_given(told, width)] if told else []
    wide = _carve(carved, width)
    if not told:
        return [Rule(), wide]
    stacked = [Rule(), wide, Rule(), *_given(told, width)]
    abreast = [[Rule(), _abreast(carved, told, width, share)] for share in (0.5, 0.42, 0.58)]
    return min((stacked, *abreast), key=_height)


def _abreast(carved: Marked, told: Sequence[str], width: float, share: float) -> Columns:
    """Return carve lines in a share of the width, and beside them what was taken as given."""
    left = (width - _BETWEEN) * share
    right = width - _BETWEEN - left
    given = Listed((*_heading(right), *_entries(told, right)))
    return Columns((_carve(carved, left), given), (left, right), _BETWEEN)


def _height(parts: Sequence[Any]) -> float:
    return float(sum(part.height for part in parts))


def _carve(carved: Marked, width: float) -> Lines:
    return Lines(tuple(wrap_parts([("Carve.", True), *carved], lambda _above: width)))


def _heading(width: float) -> list[Lines]:
    return [Lines(tuple(wrap("", width, bold=_GIVEN)))]


def _given(told: Sequence[str], width: float) -> list[Any]:
    """Return what was taken as given, in one column or in two."""
    halves = beside(_entries(told, (width - _BETWEEN) / 2), width, between=_BETWEEN)
    body = min(_entries(told, width), [halves], key=_height)
    return [*_heading(width), *body]


def _entries(told: Sequence[str], width: float) -> list[Any]:
    found = []
    for what in told:
        tried = [wrap(what, width - _TO_WRITE * part, most=3) for part in (0, 0.25, 0.5, 1)]
        fits = [one for one in tried if one and one[-1].width <= width - _TO_WRITE]
        best = min(fits or tried[-1:], key=lambda lines: len(lines))  # noqa: PLW0108 -- typed so
        found.append(Entry(tuple(best), blank=True))
    return found


def foot(
    plan: dict[str, Any], sheet: dict[str, Any], width: float, *, after: bool, salt: bool,
    left_out: Sequence[str],
) -> list[Any]:  # fmt: skip
    """Return what is left over, the cautions, the rule of the number, and the code beside them.

    Parameters
    ----------
    plan, sheet : dict
        As `collop.fire.paper.fire_pdf` takes them.
    width : float
        Of the page without its margins [pt].
    after : bool
        Whether it tells what is done with what is left over.
    salt : bool
        Whether salt is told of, and so where its figures come from.
    left_out : sequence of str
        What has no room, in words.
    """
    address = sheet.get("address") or ""
    code = Qr(address) if address else Gap(0)
    code_width = code.width if isinstance(code, Qr) else 0.0
    room = width - code_width - (10 if code_width else 0)
    lines: list[Line] = []
    for words, size in _paragraphs(plan, sheet, after=after, salt=salt, left_out=left_out):
        above = sum(line.height for line in lines)
        lines += wrap_parts(words, _around(room, width, code.height - above), size=size)
    near, tall = 0, 0.0
    while near < len(lines) and tall < code.height:
        tall += lines[near].height
        near += 1
    first = Columns((Lines(tuple(lines[:near])), code), (room, code_width), 10)
    return [first, *(Lines((line,)) for line in lines[near:])]


def _around(narrow: float, wide: float, tall: float) -> Callable[[float], float]:
    """Return the width of lines that run around something so tall at their right end [pt]."""
    return lambda above: narrow if above < tall else wide


def _paragraphs(
    plan: dict[str, Any], sheet: dict[str, Any], *, after: bool, salt: bool,
    left_out: Sequence[str],
) -> list[tuple[Marked, float]]:  # fmt: skip
    cautions = [*plan["cautions"], *(one for item in plan["items"] for one in item["cautions"])]
    care = " ".join(one for one in dict.fromkeys(cautions) if one != NUMBER_RULES)
    found: list[tuple[Marked, float]] = [([("Take care.", True), (care, False)], TEXT_PT)]
    if after and plan["after"]:
        left_over = " ".join(one["what"] for one in plan["after"])
        found.append(([("Afterwards.", True), (left_over, False)], TEXT_PT))
    found.append(([(NUMBER_RULES, True)], TEXT_PT + 1))
    if salt and any(one["what"] == SALT_NOTE for one in plan["before"]):
        found.append(([(SALT_NOTE, False)], TEXT_PT))
    more = f"Left out here: {', '.join(left_out)}. " if left_out else ""
    if sheet.get("address"):
        words = f"{more}{'All of it' if more else 'The same'} on the page:"
        found.append(([(f"{words} {sheet.get('short') or sheet['address']}", False)], TEXT_PT))
    elif more:
        found.append(([(f"{more}Ask at the counter.", False)], TEXT_PT))
    return found
