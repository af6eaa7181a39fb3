"""A household's piece under the knife: every hundredth of a pound goes to one output.

Shares are exact; weights are whole steps of the scale, split by largest remainder, so that what is
taken home, what stays with the shop and what is lost are the weight on the rail to the last count.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.carcass.catalogue import Cut, cut_by_id
from collop.carcass.freezer_reading import Choice, FreezerPart
from collop.carcass.freezer_ways import FAT_OF_FAT_PCT, outer_trim, style_of_choice
from collop.carcass.shares import PartKind, Share, Style
from collop.carcass.styles import style_named, styles_of
from collop.measures import Weight, WeightUnit, decimal_of

__all__ = ["OUTER_TRIM", "STEP", "CutPart", "Leaf", "Left", "apportion", "cut_part"]

#: One step of the scale that packs are weighed on.
STEP = {
    WeightUnit.LB: Weight.of("0.01", WeightUnit.LB),
    WeightUnit.KG: Weight.of("0.005", WeightUnit.KG),
}
#: What is taken off a carcass before its large cuts are cut to style.
OUTER_TRIM = "outer fat and carcass trim"
_BONES = (PartKind.BONE, PartKind.FAT_BONE)


@dataclass(frozen=True, slots=True)
class Leaf:
    """One output of one large cut.

    Parameters
    ----------
    choice : Choice or None
        What was chosen for its large cut; None for what belongs to the whole piece.
    style : Style or None
        The style it comes from.
    share : Share
        The output; its fraction is of the large cut.
    fraction : Fraction
        Share of the household's weight.
    steps : int
        Weight in steps of the scale.
    """

    choice: Choice | None
    style: Style | None
    share: Share
    fraction: Fraction
    steps: int = 0

    @property
    def cut(self) -> Cut | None:
        """Return the cut of the catalogue; None if it is none."""
        return cut_by_id(self.share.cut_id) if self.share.cut_id else None

    @property
    def is_bone_in(self) -> bool:
        """Tell whether bone is left in it."""
        if self.cut is not None and self.cut.bone in {"bone-in", "boneless"}:
            # the style bones what the catalogue has on the bone
            return self.cut.bone == "bone-in" and "boneless" not in self.share.part
        return self.choice is not None and self.choice.bone == "in"


@dataclass(frozen=True, slots=True)
class Left:
    """What stays with the shop, or is lost: its name, its weight in steps, and why."""

    what: str
    steps: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPart:
    """A piece cut as chosen, in steps of the scale.

    Parameters
    ----------
    part : FreezerPart
        What was asked.
    cuts : tuple of Leaf
        Cuts that are packed as steaks or roasts.
    mince, stew : int
        Pooled from trim and from large cuts chosen so.
    mince_fat_pct : Decimal or None
        What the mince comes to; None if there is none.
    bones, fat : int
        Taken home.
    left : tuple of Left
        What stays with the shop.
    loss : Weight
        Saw dust and drip, with what is finer than the scale.
    outer : Fraction
        Share that was trimmed off before, of each large cut.
    """

    part: FreezerPart
    cuts: tuple[Leaf, ...]
    mince: int
    stew: int
    mince_fat_pct: Decimal | None
    bones: int
    fat: int
    left: tuple[Left, ...]
    loss: Weight
    outer: Fraction


def apportion(total: int, shares: Sequence[Fraction]) -> list[int]:
    """Split a whole number by shares so that the parts add up to it: largest remainder first.

    Examples
    --------
    >>> apportion(10, [Fraction(1, 3), Fraction(1, 3), Fraction(1, 3)])
    [4, 3, 3]
    """
    whole = sum(shares, Fraction(0))
    if not whole:
        return [0] * len(shares)
    exact = [total * share / whole for share in shares]
    floors = [one.numerator // one.denominator for one in exact]
    order = sorted(range(len(exact)), key=lambda at: (floors[at] - exact[at], at))
    for at in order[: total - sum(floors)]:
        floors[at] += 1
    return floors


def cut_part(part: FreezerPart, unit: WeightUnit) -> CutPart:
    """Cut one piece as the household chose.

    Parameters
    ----------
    part : FreezerPart
        Piece, weight and choices.
    unit : WeightUnit
        Of the scale: pounds by 0.01, kilograms by 0.005.
    """
    step = STEP[unit].count
    outer = Fraction(0)
    if not part.trimmed and part.take_home_pct is not None:
        outer = outer_trim(part.piece.species, part.take_home_pct)
    leaves = list(_leaves(part, outer))
    steps = part.weight.count // step
    weights = apportion(steps, [leaf.fraction for leaf in leaves])
    found = [_weighed(leaf, weight) for leaf, weight in zip(leaves, weights, strict=True)]
    return _sorted_out(part, found, outer, part.weight.count - steps * step, step)


def _weighed(leaf: Leaf, steps: int) -> Leaf:
    return Leaf(leaf.choice, leaf.style, leaf.share, leaf.fraction, steps)


def _leaves(part: FreezerPart, outer: Fraction) -> Iterator[Leaf]:
    """Yield every output with its share of the household's weight; the shares sum to 1."""
    of_piece = styles_of(part.piece.species, part.piece.name)[0].shares
    is_whole = {one.part for one in of_piece if one.kind == PartKind.LARGE} == set(part.large_cuts)
    kept = [
        one for one in of_piece
        if one.part in part.large_cuts or one.kind == PartKind.LOSS
        or (is_whole and one.kind != PartKind.LARGE and not part.trimmed)
    ]  # fmt: skip
    # what is lost at the block is a share of any weight; the rest is shared out by the chart
    lost = sum((one.fraction for one in kept if one.kind == PartKind.LOSS), Fraction(0))
    whole = sum((one.fraction for one in kept), -lost)
    choices = {one.large_cut: one for one in part.choices}
    for large in kept:
        is_loss = large.kind == PartKind.LOSS
        fraction = large.fraction if is_loss else large.fraction / whole * (1 - lost)
        if large.kind != PartKind.LARGE:
            yield Leaf(None, None, large, fraction)
            continue
        choice = choices[large.part]
        style = _style(part.piece.species, choice)
        for share in style.shares:
            yield Leaf(choice, style, share, fraction * share.fraction * (1 - outer))
        yield Leaf(None, None, Share(OUTER_TRIM, PartKind.FAT_BONE, outer, large.basis),
                   fraction * outer)  # fmt: skip


def _style(species: str, choice: Choice) -> Style:
    if choice.style:
        return style_named(species, choice.large_cut, choice.style)
    return style_of_choice(species, choice.large_cut, choice.bone, choice.form)


@dataclass(slots=True)
class _Pools:
    """What is not a cut, summed over the piece."""

    mince: int = 0
    stew: int = 0
    trim: int = 0
    bones: int = 0
    mixed: int = 0
    fat: int = 0
    outer: int = 0
    loss: int = 0

    def add(self, leaf: Leaf) -> None:
        kind, form = leaf.share.kind, leaf.choice.form if leaf.choice else ""
        if form == "mince" and kind in {PartKind.CUT, PartKind.TRIM}:
            self.mince += leaf.steps
        elif form == "stew" and kind == PartKind.CUT:
            self.stew += leaf.steps
        elif kind == PartKind.TRIM:
            self.trim += leaf.steps
        elif leaf.share.part == OUTER_TRIM:
            self.outer += leaf.steps
        elif kind == PartKind.FAT_BONE:
            self.mixed += leaf.steps
        elif kind == PartKind.BONE:
            self.bones += leaf.steps
        elif kind == PartKind.FAT:
            self.fat += leaf.steps
        else:
            self.loss += leaf.steps


def _is_packed(leaf: Leaf) -> bool:
    return (
        leaf.share.kind == PartKind.CUT
        and leaf.choice is not None
        and leaf.choice.form in {"steaks", "roasts"}
    )


def _sorted_out(
    part: FreezerPart, leaves: Sequence[Leaf], outer: Fraction, rest: int, step: int
) -> CutPart:
    pools = _Pools()
    for leaf in leaves:
        if not _is_packed(leaf):
            pools.add(leaf)
    ground, cubed = apportion(pools.trim, [part.minced.share, 1 - part.minced.share])
    pools.mince += ground
    pools.stew += cubed
    fat_pct, moved = _to_the_fat_wanted(part, pools)
    return CutPart(
        part=part,
        cuts=tuple(leaf for leaf in leaves if _is_packed(leaf) and leaf.steps),
        mince=pools.mince, stew=pools.stew, mince_fat_pct=fat_pct,
        bones=pools.bones + pools.mixed if part.takes_bones else 0,
        fat=pools.fat if part.takes_fat else 0,
        left=tuple(_left(part, pools, moved)),
        loss=Weight(pools.loss * step + rest, part.weight.unit), outer=outer,
    )  # fmt: skip


def _to_the_fat_wanted(part: FreezerPart, pools: _Pools) -> tuple[Decimal | None, int]:
    """Trim fat off the mince, or put fat to it; return its fat in % and what was trimmed off."""
    if not pools.mince:
        return None, 0
    has, wanted = Fraction(part.minced.trim_fat_pct), part.minced.fat_pct
    pure = Fraction(FAT_OF_FAT_PCT)
    if wanted is None or Fraction(wanted) == has:
        return decimal_of(has, 1), 0
    target, before = Fraction(wanted), pools.mince
    if target < has:
        off = min(before - 1, round(before * (has - target) / (pure - target)))
        pools.mince -= off
        now = (has * before - pure * off) / pools.mince
        return decimal_of(now, 1), off
    more = min(pools.fat, round(before * (target - has) / (pure - target)))
    pools.fat -= more
    pools.mince += more
    return decimal_of((has * before + pure * more) / pools.mince, 1), 0


def _left(part: FreezerPart, pools: _Pools, trimmed_off: int) -> Iterator[Left]:
    shop = "stays with the shop"
    if pools.outer:
        yield Left(OUTER_TRIM, pools.outer, "taken off before the large cuts are cut")
    if not part.takes_bones:
        if pools.bones:
            yield Left("bones", pools.bones, shop)
        if pools.mixed:
            yield Left("bone with fat and saw dust", pools.mixed, shop)
    if pools.fat and not part.takes_fat:
        yield Left("fat", pools.fat, shop)
    if trimmed_off:
        yield Left("fat off the mince", trimmed_off, "trimmed off so that the mince is leaner")
