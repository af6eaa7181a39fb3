"""Packs: how many steaks, roasts, mince and stew packs a household takes home, each weighed out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.carcass.freezer_cutting import STEP, CutPart, Leaf
from collop.carcass.freezer_reading import Choice
from collop.carcass.freezer_ways import LB_PER_INCH, RIB_LB_PER_INCH, THICKNESS_INCHES
from collop.carcass.standing import COMMON_PRACTICE, Basis, Standing
from collop.measures import Weight, WeightUnit, round_fraction
from collop.reference import FROM_MEMORY, carcass_rules

__all__ = ["PackLine", "exact_text", "pack_lines", "piece_basis"]

# a chop weighs less than this: what weighs more in the catalogue is the whole muscle
_HEAVIEST_CHOP = Weight.of("2.5", WeightUnit.LB)


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLine:
    """Packs of one kind.

    Parameters
    ----------
    large_cut, cut : str
        Where it comes from, and what it is; `large_cut` is empty for what is pooled.
    form : str
        ``steaks``, ``roasts``, ``mince``, ``stew``, ``bones`` or ``fat``.
    style : str
        The cutting style; empty for what is pooled.
    thickness : str
        As it was asked for; empty if it is not sliced.
    pieces : int
        Steaks, chops or roasts in all; 0 for what is not counted.
    packs : tuple of (int, int, int)
        How many packs, pieces in each, steps of the scale in each.
    bone_in : bool
        Whether bone is in it.
    basis : Basis or None
        What its share rests on; None for what is pooled.
    """

    large_cut: str
    cut: str
    form: str
    style: str
    thickness: str
    pieces: int
    packs: tuple[tuple[int, int, int], ...]
    bone_in: bool
    basis: Basis | None

    @property
    def count(self) -> int:
        """Return how many packs there are."""
        return sum(count for count, _, _ in self.packs)

    @property
    def steps(self) -> int:
        """Return the weight in steps of the scale."""
        return sum(count * steps for count, _, steps in self.packs)


def exact_text(weight: Weight) -> str:
    """Return a weight as exact as it is: to the step of the scale, or finer if it is."""
    for places in (2, 3, 4, 6, 11):
        found = weight.decimal(weight.unit, places)
        if Fraction(found) == weight.exact(weight.unit):
            return str(found)
    return str(weight.decimal(weight.unit, 11))


def pack_lines(cut: CutPart, unit: WeightUnit) -> Iterator[PackLine]:
    """Yield the packs of one piece, in the order of the animal; mince, stew, bones and fat last."""
    step = STEP[unit]
    for leaf in cut.cuts:
        yield _of_cut(leaf, cut.part.piece.species, step)
    minced = cut.part.minced
    species = cut.part.piece.species
    pooled = (
        (f"{species} mince", "mince", cut.mince, minced.pack, False),
        (f"{species} stew, diced", "stew", cut.stew, minced.stew_pack, False),
        (f"{species} bones", "bones", cut.bones, Weight.of(5, WeightUnit.LB), True),
        (f"{species} fat", "fat", cut.fat, Weight.of(5, WeightUnit.LB), False),
    )
    for name, form, steps, size, bone_in in pooled:
        if steps:
            count = _how_many(steps * step.count, size)
            yield PackLine(large_cut="", cut=name, form=form, style="", thickness="", pieces=0,
                           packs=_split(steps, count, 1, counted=False), bone_in=bone_in,
                           basis=None)  # fmt: skip


def _of_cut(leaf: Leaf, species: str, step: Weight) -> PackLine:
    assert leaf.choice is not None
    assert leaf.style is not None
    choice, weight = leaf.choice, Weight(leaf.steps * step.count)
    sliced = choice.form == "steaks" and _slices(leaf)
    if sliced:
        pieces = max(1, min(leaf.steps, round_fraction(
            Fraction(weight.count, _piece_weight(leaf, species, choice)))))  # fmt: skip
    else:
        pieces = min(leaf.steps, _how_many(weight.count, choice.roast))
    each = choice.pieces if sliced else 1
    return PackLine(
        large_cut=choice.large_cut, cut=leaf.share.part, form="steaks" if sliced else "roasts",
        style=leaf.style.name,
        thickness=(choice.shown or f"{THICKNESS_INCHES} in") if sliced else "",
        pieces=pieces, packs=_split(leaf.steps, pieces, each, counted=True),
        bone_in=leaf.is_bone_in, basis=leaf.share.basis,
    )  # fmt: skip


def _how_many(count: int, size: Weight) -> int:
    return max(1, round_fraction(Fraction(count, size.count)))


def _slices(leaf: Leaf) -> bool:
    """Tell whether an output is sliced; a shank, a rack of ribs or a skirt is packed as it is."""
    name = leaf.share.part.casefold()
    if any(word in name for word in ("steak", "chop", "slices")):
        return True
    return leaf.cut is not None and leaf.cut.inches is not None and "roast" not in name


def _piece_weight(leaf: Leaf, species: str, choice: Choice) -> int:
    """Return what one steak or chop weighs, in counts, from its thickness."""
    inches = Fraction(choice.inches or THICKNESS_INCHES)
    cut = leaf.cut
    if cut is not None and cut.weights and cut.inches and cut.weights[1] < _HEAVIEST_CHOP:
        counts = cut.weights[0].count + cut.weights[1].count
        return round_fraction(inches * counts / Fraction(cut.inches[0] + cut.inches[1]))
    bone = "in" if leaf.is_bone_in else "out"
    per_inch = RIB_LB_PER_INCH[bone] if species == "beef" else LB_PER_INCH[species][bone]
    return round_fraction(inches * per_inch * Weight.of(1, WeightUnit.LB).count)


def piece_basis(species: str) -> str:
    """Return in one sentence where the weight of one steak or chop comes from."""
    if species == "beef":
        row = carcass_rules("lean_rib_example", species="beef")[0]
        return (
            "A beef steak is taken as 1.2 lb for each inch on the bone and 0.8 lb boneless, as in"
            f" {Basis(Standing(row.status), row.source.text()).text()}; a wider muscle weighs more."
        )
    return (
        f"What a {species} chop weighs by its thickness is of the catalogue ({FROM_MEMORY}), or a"
        f" starting figure ({COMMON_PRACTICE})."
    )


def _split(
    steps: int, pieces: int, each: int, *, counted: bool
) -> tuple[tuple[int, int, int], ...]:
    """Share weight over pieces as evenly as the scale reads, and put `each` of them in a pack.

    The last pack takes what is over. Packs alike are one entry, heaviest first.
    """
    pieces = min(pieces, steps)
    low, heavier = divmod(steps, pieces)
    found: Counter[tuple[int, int]] = Counter()
    for start in range(0, pieces, each):
        inside = min(each, pieces - start)
        over = min(inside, max(0, heavier - start))
        found[inside if counted else 0, inside * low + over] += 1
    order = sorted(found.items(), key=lambda one: (-one[0][0], -one[0][1]))
    return tuple((count, inside, weight) for (inside, weight), count in order)
