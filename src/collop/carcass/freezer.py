"""A household's half or quarter, cut to the family's choices: packs, pounds, freezer, money."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from collop.carcass.freezer_cutting import STEP, CutPart, cut_part
from collop.carcass.freezer_money import AtBoard, at_board, hanging_money, money_of
from collop.carcass.freezer_packs import PackLine, exact_text, pack_lines, piece_basis
from collop.carcass.freezer_reading import FreezerOrder, FreezerPart, read_freezer
from collop.carcass.freezer_ways import (
    BONE_IN_LB_PER_CUBIC_FOOT,
    BONELESS_LB_PER_CUBIC_FOOT,
    take_home_row,
)
from collop.carcass.shares import PartKind
from collop.carcass.shrink import published_range
from collop.carcass.standing import COMMON_PRACTICE, Basis, Standing
from collop.carcass.styles import styles_of
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import FROM_MEMORY
from collop.reference.rulebook import rule_row

__all__ = ["LITRES_PER_CUBIC_FOOT", "PLAN_ID", "freezer_order"]

PLAN_ID = "collop.freezer.plan/1"
#: By definition of the inch: (0.3048 m) ** 3.
LITRES_PER_CUBIC_FOOT = Fraction(28_316_846_592, 10**9)
# rows of the chart of storage times that speak of raw meat in a freezer
_STORED = {"steaks": "SF099", "chops": "SF100", "roasts": "SF101", "mince": "SF102"}
_NO_MEAT = frozenset({"bones", "fat"})
_FROM = {"bones": "from the bone barrel", "fat": "from the fat tub"}
# outputs that may be cut in two ways: sliced, whole
_CALLED = {
    "boneless roasts or stew": ("shoulder slices, boneless", "shoulder, boneless"),
    "arm steaks or picnic roast": ("arm steaks", "picnic roast"),
    "boneless top loin chops or roast": ("top loin chops, boneless", "top loin roast, boneless"),
    "blade chops or country-style ribs": ("blade chops", "blade roast"),
    "blade-end boneless or country-style": ("blade end, boneless", "blade end, boneless"),
    "clod heart roast or ranch steaks": ("ranch steaks", "clod heart roast"),
    "blade steaks / shoulder chops": ("shoulder chops", "shoulder blade roast"),
}
_PUBLISHED = (
    ("cutting_yield_bone_in", "on the bone, regular trim"),
    ("cutting_yield_boneless", "boneless, close trim"),
)


def freezer_order(problem: object) -> dict[str, Any]:
    """Return packs, weights, freezer room, money and bench lines of a household's order.

    Parameters
    ----------
    problem : object
        Parsed JSON of the ``collop.freezer/1`` contract: weights and money are decimal strings.

    Returns
    -------
    dict
        JSON of the ``collop.freezer.plan/1`` contract. Of each piece, what is taken home, what
        stays with the shop and what is lost add up to its weight exactly.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    order = read_freezer(problem)
    cut = [cut_part(part, order.unit) for part in order.parts]
    packed = [tuple(pack_lines(one, order.unit)) for one in cut]
    for part, lines in zip(order.parts, packed, strict=True):
        if not lines:
            raise BadValue(
                f"{part.path} gives no pack: {part.weight.text()} is too little to cut.",
                where=f"{part.path}.weight",
            )
    board = [
        (line, at_board(line, part.piece.species, order))
        for part, lines in zip(order.parts, packed, strict=True)
        for line in lines
    ]
    parts = [
        _part_json(order, one, lines, dict(board))
        for one, lines in zip(cut, packed, strict=True)
    ]  # fmt: skip
    return _whole_json(order, parts, packed, board, cut)


def _whole_json(
    order: FreezerOrder,
    parts: list[dict[str, Any]],
    packed: Sequence[Sequence[PackLine]],
    board: Sequence[tuple[PackLine, AtBoard]],
    cut: Sequence[CutPart],
) -> dict[str, Any]:
    lines = [line for of_part in packed for line in of_part]
    taken = [_taken(order, part, of_part)
             for part, of_part in zip(order.parts, packed, strict=True)]  # fmt: skip
    packs = sum(count for count, _ in taken)
    take_home = sum((weight for _, weight in taken), Weight.zero(order.unit))
    whole = sum((part.weight for part in order.parts), Weight.zero(order.unit))
    loss = sum((one.loss for one in cut), Weight.zero(order.unit))
    planned = _sum(lines, order.unit)
    meat = _sum([line for line in lines if line.form not in _NO_MEAT], order.unit)
    is_weighed = any(part.weighed is not None for part in order.parts)
    return {
        "schema": PLAN_ID,
        "name": order.name,
        "unit": order.unit.value,
        "currency": order.currency,
        "rounding": order.rounding.value,
        "weight": exact_text(whole),
        "take_home": exact_text(take_home),
        "left": exact_text(whole - planned - loss),
        "loss": exact_text(loss),
        "packs": packs,
        "take_home_pct": str(_percent(take_home, whole)),
        "meat": exact_text(meat),
        "is_weighed": is_weighed,
        "parts": parts,
        "freezer": _room(lines, order.unit),
        "money": money_of(
            order, packs=packs, take_home=take_home, board=board, meat=None if is_weighed else meat
        ),
        "storage": list(_storage(lines)),
        "assumptions": list(dict.fromkeys(_assumptions(order, cut))),
    }


def _sum(lines: Sequence[PackLine], unit: WeightUnit) -> Weight:
    return Weight(sum(line.steps for line in lines) * STEP[unit].count, unit)


def _percent(some: Weight, whole: Weight) -> object:
    return decimal_of(Fraction(some.count * 100, whole.count), 1)


def _taken(order: FreezerOrder, part: FreezerPart, lines: Sequence[PackLine]) -> tuple[int, Weight]:
    """Return packs and weight taken home: the scale's where it was weighed, else the plan's."""
    if part.weighed is None:
        return sum(line.count for line in lines), _sum(lines, order.unit)
    weight = sum((one.weight for one in part.weighed), Weight.zero(order.unit))
    if weight > part.weight:
        raise BadValue(
            f"{part.path}.weighed comes to {weight.text()} of a piece of {part.weight.text()}:"
            " weigh the packs again, or see whether a pack of another order is among them.",
            where=f"{part.path}.weighed",
        )
    if not weight:
        raise BadValue(f"{part.path}.weighed comes to nothing; weigh the packs.",
                       where=f"{part.path}.weighed")  # fmt: skip
    return sum(one.packs for one in part.weighed), weight


def _part_json(
    order: FreezerOrder, cut: CutPart, lines: Sequence[PackLine], board: Mapping[PackLine, AtBoard]
) -> dict[str, Any]:
    part, step = cut.part, STEP[order.unit]
    taken = _sum(lines, order.unit)
    left = [
        {"what": one.what, "weight": exact_text(Weight(one.steps * step.count, order.unit)),
         "why": one.why} for one in cut.left
    ]  # fmt: skip
    meat = _sum([line for line in lines if line.form not in _NO_MEAT], order.unit)
    kept = Weight(sum(one.steps for one in cut.left) * step.count, order.unit)
    return {
        "tag": part.tag, "piece": part.piece.title, "species": part.piece.species,
        "share": part.share_text, "weight": exact_text(part.weight),
        "weight_is": "hot" if part.is_hot else "cold",
        "hanging_weight": exact_text(part.paid.weight),
        "hanging_is": "hot" if part.paid.is_hot else "cold",
        "hanging_money": str(hanging_money(order, part)),
        "lines": [_line_json(order, part, line, board[line]) for line in lines],
        "left": left, "take_home": exact_text(taken), "left_weight": exact_text(kept),
        "loss": exact_text(cut.loss), "closes": taken + kept + cut.loss == part.weight,
        "packs": sum(line.count for line in lines),
        "meat": exact_text(meat),
        "meat_pct": str(_percent(meat, part.weight)),
        "outer_trim_pct": str(decimal_of(cut.outer * 100, 1)),
        "mince_fat_pct": None if cut.mince_fat_pct is None else str(cut.mince_fat_pct),
        "published": list(_published(cut)),
        "bench": list(_bench(part, lines)),
        "weighed": _weighed_json(order, part, lines, taken),
    }  # fmt: skip


def _weighed_json(
    order: FreezerOrder, part: FreezerPart, lines: Sequence[PackLine], planned: Weight
) -> dict[str, Any] | None:
    if part.weighed is None:
        return None
    packs, weight = _taken(order, part, lines)
    rest = part.weight - weight
    return {
        "packs": packs, "take_home": exact_text(weight), "left_and_loss": exact_text(rest),
        "over_plan": exact_text(weight - planned), "closes": weight + rest == part.weight,
    }  # fmt: skip


def _label(species: str, line: PackLine) -> str:
    sliced, whole = _CALLED.get(line.cut, (line.cut.partition(" (")[0],) * 2)
    name = sliced if line.form == "steaks" else whole
    text = name if name.casefold().startswith(species) else f"{species} {name}"
    thick = f", {line.thickness}" if line.thickness else ""
    return f"{text[:1].upper()}{text[1:]}{thick}"


def _line_json(
    order: FreezerOrder, part: FreezerPart, line: PackLine, at: AtBoard
) -> dict[str, Any]:
    step = STEP[order.unit].count
    return {
        "large_cut": line.large_cut, "cut": line.cut, "as": line.form, "style": line.style,
        "bone": "in" if line.bone_in else "out", "thickness": line.thickness,
        "pieces": line.pieces, "packs": line.count,
        "weight": exact_text(Weight(line.steps * step, order.unit)),
        "pack_weights": [
            {"count": count, "pieces": pieces,
             "weight": exact_text(Weight(steps * step, order.unit))}
            for count, pieces, steps in line.packs
        ],
        "label": _label(part.piece.species, line),
        "board_line": None if at.line is None else at.line.name,
        "board_price": None if at.line is None else str(at.line.price.amount),
        "board_money": None if at.money is None else str(at.money),
        "basis": "pooled from trim and cuts" if line.basis is None else line.basis.text(),
        "from_memory": line.basis is not None and line.basis.standing is Standing.MEMORY,
    }  # fmt: skip


def _published(cut: CutPart) -> Iterator[dict[str, Any]]:
    """Yield what is published on the take-home of a whole carcass, to hold the plan against."""
    species = cut.part.piece.species
    whole = styles_of(species, cut.part.piece.name)[0].shares
    large = [one.part for one in whole if one.kind == PartKind.LARGE]
    if cut.part.trimmed or len(cut.part.large_cuts) < len(large):
        return
    for quantity, words in _PUBLISHED:
        span = published_range(quantity, species)
        if span is not None:
            yield {
                "what": words, "low": str(decimal_of(span.low, 1)),
                "high": str(decimal_of(span.high, 1)), "source": span.basis.text(),
                "from_memory": not span.basis.is_cited,
            }  # fmt: skip


def _bench(part: FreezerPart, lines: Sequence[PackLine]) -> Iterator[dict[str, Any]]:
    """Yield the lines of the bench card: one for each large cut, then what is pooled."""
    for choice in part.choices:
        own = [line for line in lines if line.large_cut == choice.large_cut]
        words = "on the bone" if choice.bone == "in" else "bone out"
        if choice.form in {"stew", "mince"}:
            words = "bone out"
        does = [_does(line) for line in own] or [f"all to the {choice.form}"]
        yield {
            "shout": len(part.choices[: part.choices.index(choice)]) + 1,
            "large_cut": choice.large_cut, "say": words, "style": own[0].style if own else "",
            "packs": sum(line.count for line in own), "do": does,
        }  # fmt: skip
    pooled = [line for line in lines if not line.large_cut]
    for at, line in enumerate(pooled, len(part.choices) + 1):
        say = _FROM.get(line.form, "from the trim")
        yield {"shout": at, "large_cut": line.cut, "say": say, "style": "",
               "packs": line.count, "do": [_does(line)]}  # fmt: skip


def _does(line: PackLine) -> str:
    most = max(pieces for _, pieces, _ in line.packs)
    packs = "1 pack" if line.count == 1 else f"{line.count} packs"
    if line.form == "steaks":
        return f"{line.cut}: {line.pieces} at {line.thickness}, {most} to a pack, {packs}"
    if line.form == "roasts":
        each = "whole" if line.pieces == 1 else f"in {line.pieces}"
        return f"{line.cut}: {each}, {packs}"
    return f"{line.cut}: {packs}"


def _room(lines: Sequence[PackLine], unit: WeightUnit) -> dict[str, Any]:
    """Return the room in a freezer as a band: fewest feet at the tightest packing."""
    least = most = Fraction(0)
    for line in lines:
        pounds = Weight(line.steps * STEP[unit].count).exact(WeightUnit.LB)
        loose, tight = BONE_IN_LB_PER_CUBIC_FOOT if line.bone_in else BONELESS_LB_PER_CUBIC_FOOT
        least += pounds / tight
        most += pounds / loose
    return {
        "cubic_feet_low": str(decimal_of(least, 2)), "cubic_feet_high": str(decimal_of(most, 2)),
        "litres_low": str(decimal_of(least * LITRES_PER_CUBIC_FOOT, 0)),
        "litres_high": str(decimal_of(most * LITRES_PER_CUBIC_FOOT, 0)),
        "mark": FROM_MEMORY,
    }  # fmt: skip


def _storage(lines: Sequence[PackLine]) -> Iterator[dict[str, Any]]:
    """Yield how long each kind keeps its quality in a freezer, from the published chart."""
    kinds = {
        "chops" if "chop" in line.cut and line.form == "steaks" else line.form for line in lines
    }
    for kind, rule_id in _STORED.items():
        if kind in kinds:
            row = rule_row(rule_id)
            yield {
                "kind": kind, "freezer": row.value.partition("freezer ")[2],
                "rule_id": rule_id, "source": row.source.text(), "from_memory": not row.is_cited,
            }  # fmt: skip


def _assumptions(order: FreezerOrder, cut: Sequence[CutPart]) -> Iterator[str]:
    for one in cut:
        part, species = one.part, one.part.piece.species
        row = take_home_row(species)
        if part.trimmed:
            yield f"{part.tag or part.piece.title} was trimmed before: nothing more is taken off."
        elif part.own_take_home:
            yield (f"The whole {species} carcass gives {part.take_home_pct} % to take home, as"
                   " given.")  # fmt: skip
        elif row is not None:
            yield (f"A {species} carcass cut on the bone gives {row.figure} % to take home"
                   f" ({Basis(Standing(row.status), row.source.text()).text()}); what the cutting"
                   " styles give beyond that is taken off as outer trim first.")  # fmt: skip
        else:
            yield (f"No take-home is published for {species}: its styles are starting figures"
                   f" ({COMMON_PRACTICE}).")  # fmt: skip
        if any(line.form == "steaks" for line in pack_lines(one, order.unit)):
            yield piece_basis(species)
        if one.mince:
            yield (f"The trim of {species} is taken as {part.minced.trim_fat_pct} % fat"
                   f" ({COMMON_PRACTICE}); test a handful.")  # fmt: skip
    yield ("Freezer room: 35 to 40 lb of boneless packs to a cubic foot, 28 to 35 lb on the bone"
           f" ({FROM_MEMORY}).")  # fmt: skip
    yield "Storage times are for quality; food kept at 0 °F stays fit to eat."
