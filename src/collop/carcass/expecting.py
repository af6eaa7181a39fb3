"""What a piece is expected to give, in weights that close to the last thousandth of a pound.

Shares stay exact until the end. Then every output gets its whole scale steps, and the steps still
left go to the largest remainders: the sum is the weight of the piece, whatever it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from collop.carcass.shares import PartKind, Share, Style
from collop.carcass.species import Piece, large_cut_named, piece_named
from collop.carcass.standing import Basis, Standing
from collop.carcass.styles import style_named, styles_of
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit

__all__ = ["Output", "PlanPart", "expected", "starting_plan"]

_NO_CHOICES: Mapping[str, str] = {}
_WORDS = {
    PartKind.TRIM: "trim",
    PartKind.FAT: "fat",
    PartKind.BONE: "bone",
    PartKind.FAT_BONE: "fat and bone",
    PartKind.LOSS: "saw dust and drip",
}
#: One scale step, as a count of weight: 0.001 lb, or 1 g for a metric scale.
_STEP = {
    unit: Weight.of(1, WeightUnit.G).count
    if unit in {WeightUnit.KG, WeightUnit.G}
    else Weight.of("0.001", WeightUnit.LB).count
    for unit in WeightUnit
}


@dataclass(frozen=True, slots=True)
class Output:
    """One thing that is expected off the knife.

    Parameters
    ----------
    part : str
        Its name.
    kind : PartKind
        What it is.
    weight : Weight
        What it is expected to weigh.
    fraction : Fraction
        Its exact share of the piece.
    large_cut, style : str
        Where it comes from, and how that was cut; the piece itself for what is lost on dividing.
    cut_id : str
        The cut of the catalogue; empty if it is none.
    basis : Basis
        What its share of the large cut rests on.
    """

    part: str
    kind: PartKind
    weight: Weight
    fraction: Fraction
    large_cut: str
    style: str
    cut_id: str
    basis: Basis

    @property
    def place(self) -> str:
        """Return where it goes: case, trim, fat, bone or drip."""
        return self.kind.place


@dataclass(frozen=True, slots=True)
class PlanPart:
    """One tile of a breaking plan.

    Parameters
    ----------
    order : int
        From 1, as the knife meets it; trim, fat, bone and loss come last.
    part : str
        Its name.
    kind : PartKind
        What it is.
    fraction : Fraction
        Expected share of the piece.
    large_cut, cut_id : str
        Where it comes from, and the cut of the catalogue; empty if several, or none.
    basis : Basis
        What the share rests on: the weakest of those that were put together.
    """

    order: int
    part: str
    kind: PartKind
    fraction: Fraction
    large_cut: str
    cut_id: str
    basis: Basis

    @property
    def place(self) -> str:
        """Return where it goes: case, trim, fat, bone or drip."""
        return self.kind.place


@dataclass(frozen=True, slots=True)
class _Leaf:
    share: Share
    fraction: Fraction
    large_cut: str
    style: str


def _leaves(style: Style, fraction: Fraction, within: str, picks: Mapping[str, str]
            ) -> Iterator[_Leaf]:  # fmt: skip
    """Walk the tree of styles in the order of the knife."""
    for share in style.shares:
        part = fraction * share.fraction
        if share.kind is PartKind.LARGE:
            below = style_named(style.species, share.part, picks.get(share.part, ""))
            yield from _leaves(below, part, within or share.part, picks)
        else:
            yield _Leaf(share, part, within or style.of, style.name)


def _picked(piece: Piece, choices: Mapping[str, str], where: str) -> dict[str, str]:
    """Return the chosen style of each large cut by its own name, or refuse."""
    root = styles_of(piece.species, piece.name)[0]
    within = {share.part for share in root.shares if share.kind is PartKind.LARGE}
    picks: dict[str, str] = {}
    for key, text in choices.items():
        at = f"{where}.{key}" if where else ""
        name = large_cut_named(piece.species, key, where=at).name
        if name not in within:
            raise BadValue(f"{name} is no part of a {piece.title}; leave it out.", where=at)
        if name in picks:
            raise BadValue(f"{name} has two styles; choose one.", where=at)
        picks[name] = style_named(piece.species, name, text, where=at).name
    return picks


def _plan(piece: Piece, choices: Mapping[str, str], where: str) -> tuple[_Leaf, ...]:
    root = styles_of(piece.species, piece.name)[0]
    return tuple(_leaves(root, Fraction(1), "", _picked(piece, choices, where)))


def _divided(weight: Weight, fractions: Sequence[Fraction]) -> list[Weight]:
    """Divide a weight by shares that sum to 1, in whole scale steps where it is itself whole."""
    step = _STEP[weight.unit]
    if weight.count % step:
        step = 1
    steps = weight.count // step
    exact = [steps * fraction for fraction in fractions]
    whole = [amount.numerator // amount.denominator for amount in exact]
    left = steps - sum(whole)
    nearest = sorted(range(len(exact)), key=lambda i: (whole[i] - exact[i], i))
    for index in nearest[:left]:
        whole[index] += 1
    return [Weight(count * step, weight.unit) for count in whole]


def expected(
    piece: str,
    weight: Weight,
    choices: Mapping[str, str] = _NO_CHOICES,
    *,
    species: str = "",
    where: str = "",
) -> tuple[Output, ...]:
    """Return what a piece is expected to give; the weights sum to `weight` exactly.

    Parameters
    ----------
    piece : str
        E.g. ``beef forequarter``.
    weight : Weight
        What hangs.
    choices : mapping of str
        Style by large cut; the usual style where it says nothing.
    species : str
        The animal, if `piece` does not say it.
    where : str
        Path of the choices, for the error.

    Raises
    ------
    BadValue
        If the piece, a large cut or a style is not known, or the weight is not above zero.

    Examples
    --------
    >>> from collop.measures import Weight, WeightUnit
    >>> hung = Weight.of("50.5", WeightUnit.LB)
    >>> parts = expected("lamb carcass", hung, {"rack": "frenched racks"})
    >>> sum(part.weight.count for part in parts) == hung.count
    True
    """
    if weight.count <= 0:
        raise BadValue(f"A piece of {weight.text()} cannot be cut; weigh it again.")
    leaves = _plan(piece_named(piece, species), choices, where)
    weights = _divided(weight, [leaf.fraction for leaf in leaves])
    return tuple(
        Output(
            leaf.share.part,
            leaf.share.kind,
            amount,
            leaf.fraction,
            leaf.large_cut,
            leaf.style,
            leaf.share.cut_id,
            leaf.share.basis,
        )
        for leaf, amount in zip(leaves, weights, strict=True)
    )


def starting_plan(
    species: str, piece: str, choices: Mapping[str, str] = _NO_CHOICES
) -> tuple[PlanPart, ...]:
    """Return the parts of a piece in the order the knife meets them, with expected shares.

    Cuts keep their own lines; trim, fat, bone and loss are each one line at the end. Shares sum
    to 1.

    Parameters
    ----------
    species, piece : str
        E.g. beef, forequarter.
    choices : mapping of str
        Style by large cut; the usual style where it says nothing.

    Raises
    ------
    BadValue
        If the piece, a large cut or a style is not known.

    Examples
    --------
    >>> [(part.part, round(float(part.fraction), 3)) for part in starting_plan("duck", "whole")][:3]
    [('breasts, boneless (2)', 0.287), ('legs (2)', 0.267), ('wings (2)', 0.109)]
    """
    cuts: dict[tuple[str, str], PlanPart] = {}
    rest: dict[PartKind, PlanPart] = {}
    for leaf in _plan(piece_named(piece, species), choices, ""):
        share = leaf.share
        part = PlanPart(0, share.part, share.kind, leaf.fraction, leaf.large_cut, share.cut_id,
                        share.basis)  # fmt: skip
        if share.kind is PartKind.CUT:
            key = (share.part, share.cut_id)
            cuts[key] = _joined(cuts[key], part) if key in cuts else part
        else:
            part = replace(part, part=_WORDS[share.kind], cut_id="")
            rest[share.kind] = _joined(rest[share.kind], part) if share.kind in rest else part
    tail = [rest[kind] for kind in _WORDS if kind in rest]
    return tuple(
        replace(part, order=order) for order, part in enumerate((*cuts.values(), *tail), 1)
    )


def _joined(one: PlanPart, other: PlanPart) -> PlanPart:
    order = list(Standing)
    weakest = max((one.basis, other.basis), key=lambda basis: order.index(basis.standing))
    where = one.large_cut if one.large_cut == other.large_cut else ""
    return replace(one, fraction=one.fraction + other.fraction, large_cut=where, basis=weakest)
