"""What the knife page draws: tiles, the bar that fills, what may be forgotten, the closed sheet."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.measures import Weight, decimal_of, round_fraction

if TYPE_CHECKING:
    from collections.abc import Iterable

    from collop.carcass import Verdict
    from collop.carcass.expecting import PlanPart
    from collop.shop import Break, CaseLine, Part, Weighing

__all__ = [
    "Row", "Segment", "Tile", "forgotten", "kinds_of", "loss_segment", "published_plan", "rows_of",
    "segments", "share_of", "tiles", "usual_loss",
]  # fmt: skip

KINDS = ("cut", "trim", "fat", "bone", "scrap")
MOST_ASKED = 3
_PLACES = {
    "block": "waits on the block",
    "rail": "back on the rail",
    "trim": "trim bin",
    "fat": "fat bin",
    "bone": "bone bin",
    "bin": "to the bin",
}
#: What the rail calls an animal, where the published tables have another word.
_SPECIES = {"pig": "pork", "goat kid": "goat"}
_PIECES = {"half": "side"}


@dataclass(frozen=True, slots=True)
class Tile:
    """One part of the style as a tile: what is expected of it and what was weighed."""

    part: Part
    expected: Weight
    weighed: Weight
    readings: int
    where: str
    by_piece: bool


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of the bar; `start_pct` and `width_pct` are of the start weight."""

    kind: str
    weight: Weight
    start_pct: Decimal
    width_pct: Decimal


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the closed sheet; shares are of the start weight, in per cent."""

    name: str
    kind: str
    weight: Weight
    pct: Decimal
    expected_pct: Decimal

    @property
    def gap(self) -> Decimal:
        """Return share less expected share, in points."""
        return self.pct - self.expected_pct


def share_of(start: Weight, share: Fraction) -> Weight:
    """Return a share of a weight."""
    return Weight(round_fraction(share * start.count), start.unit)


def _pct(weight: Weight, start: Weight, places: int = 1) -> Decimal:
    return decimal_of(Fraction(100 * weight.count, start.count), places)


def _sum(weighings: Iterable[Weighing], start: Weight) -> Weight:
    return Weight(sum(one.weight.count for one in weighings), start.unit)


def tiles(found: Break, case: tuple[CaseLine, ...]) -> list[Tile]:
    """Return a tile for each part but the loss, in the order of the style."""
    lines = {line.id: line for line in case}
    return [_tile(found, part, lines) for part in found.style.parts if part.kind != "loss"]


def _tile(found: Break, part: Part, lines: dict[str, CaseLine]) -> Tile:
    readings = [one for one in found.parts if one.part == part.name]
    line = lines.get(part.case_id or "")
    return Tile(
        part=part,
        expected=share_of(found.start, part.share),
        weighed=_sum(readings, found.start),
        readings=len(readings),
        where=f"case {part.case_id}" if part.case_id else _PLACES.get(part.place, part.place),
        by_piece=line is not None and line.piece_lb is not None,
    )


def segments(found: Break) -> list[Segment]:
    """Return the stretches of the bar that are weighed, by kind; together at most 100 %."""
    drawn: list[Segment] = []
    at = Decimal(0)
    for kind in KINDS:
        weight = _sum((one for one in found.parts if one.kind == kind), found.start)
        width = min(_pct(weight, found.start, 2), 100 - at)
        if weight:
            drawn.append(Segment(kind, weight, at, width))
            at += width
    return drawn


def usual_loss(found: Break) -> Weight:
    """Return the loss the style expects."""
    return share_of(found.start, found.style.loss_share)


def loss_segment(found: Break) -> Segment:
    """Return the stretch at the end of the bar that the usual loss takes."""
    loss = usual_loss(found)
    width = _pct(loss, found.start, 2)
    return Segment("loss", loss, 100 - width, width)


def forgotten(found: Break, verdict: Verdict, drawn: list[Tile]) -> list[tuple[str, str]]:
    """Return at most three usual things that were forgotten: a question, and its kind.

    What the balance finds likely comes first; then parts of the style that were never weighed.
    """
    asked = [(one.sentence, one.kind) for one in verdict.likely]
    asked += [
        (f"{tile.part.name} is not weighed yet; about {tile.expected.text()} is usual.", "part")
        for tile in sorted(drawn, key=lambda tile: tile.expected, reverse=True)
        if not tile.readings
    ]
    if not asked:
        asked = [(f"{found.left.text()} is left on the block: put it on the scale.", "left")]
    return asked[:MOST_ASKED]


def rows_of(found: Break) -> list[Row]:
    """Return the parts of a closed break against the shares of its style, the loss last."""
    rows = []
    for part in found.style.parts:
        if part.kind == "loss":
            continue
        weight = _sum((one for one in found.parts if one.part == part.name), found.start)
        rows.append(_row(part.name, part.kind, weight, found, part.share))
    return [*rows, _row("Loss at the block", "loss", found.loss, found, found.style.loss_share)]


def _row(name: str, kind: str, weight: Weight, found: Break, share: Fraction) -> Row:
    return Row(name, kind, weight, _pct(weight, found.start), decimal_of(share * 100, 1))


def kinds_of(found: Break) -> list[Row]:
    """Return the closed break by kind, with what is expected of each; empty kinds left out."""
    rows = []
    for kind in KINDS:
        weight = _sum((one for one in found.parts if one.kind == kind), found.start)
        share = sum((p.share for p in found.style.parts if p.kind == kind), Fraction(0))
        if weight or share:
            rows.append(_row(kind, kind, weight, found, share))
    return rows


def published_plan(species: str, piece: str | None) -> tuple[PlanPart, ...]:
    """Return a starting plan from the tables for a piece the shop has no style for, if any."""
    from collop.carcass.expecting import starting_plan  # noqa: PLC0415 -- read when first wanted

    kind = _SPECIES.get(species, species)
    words = [word for word in (piece or "").split() if word not in {species, kind}]
    wanted = " ".join(_PIECES.get(word, word) for word in words)
    try:
        return starting_plan(kind, wanted)
    except BadValue:
        return ()
