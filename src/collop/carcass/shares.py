"""What comes off the knife: kinds, shares and styles.

Fat and bone printed in one figure stay one kind (``fat_bone``): they are told apart only where a
source does, or by the butcher's scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from collop.carcass.standing import Basis, Standing
from collop.reference import Span

__all__ = ["PartKind", "Share", "Style"]


class PartKind(StrEnum):
    """What comes off the knife; ``large`` is cut further."""

    CUT = "cut"
    TRIM = "trim"
    FAT = "fat"
    BONE = "bone"
    FAT_BONE = "fat_bone"
    LOSS = "loss"
    LARGE = "large"

    @property
    def place(self) -> str:
        """Return where it goes: case, trim, fat, bone, drip; block for what is cut further.

        Fat and bone printed in one figure lie in the bone barrel until they are weighed apart.
        """
        return _PLACES[self]


_PLACES = {
    PartKind.CUT: "case",
    PartKind.TRIM: "trim",
    PartKind.FAT: "fat",
    PartKind.BONE: "bone",
    PartKind.FAT_BONE: "bone",
    PartKind.LOSS: "drip",
    PartKind.LARGE: "block",
}


@dataclass(frozen=True, slots=True)
class Share:
    """One output of a style.

    Parameters
    ----------
    part : str
        Its name.
    kind : PartKind
        What it is.
    fraction : Fraction
        Share of what was put on the table.
    basis : Basis
        What the share rests on.
    cut_id : str
        The cut of the catalogue; empty if it is none.
    """

    part: str
    kind: PartKind
    fraction: Fraction
    basis: Basis
    cut_id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """One way to cut one large cut, or to divide one piece.

    Parameters
    ----------
    species, of, name : str
        The animal, the large cut or piece, and the style.
    shares : tuple of Share
        Outputs in the order of the knife; their fractions sum to 1.
    minutes : Span or None
        Labour for one piece by one practised cutter [min]; None if not known.
    minutes_basis : Basis or None
        What the labour rests on.
    """

    species: str
    of: str
    name: str
    shares: tuple[Share, ...]
    minutes: Span | None = None
    minutes_basis: Basis | None = None

    @property
    def total(self) -> Fraction:
        """Return the sum of the fractions: 1, loss included."""
        return sum((share.fraction for share in self.shares), Fraction(0))

    @property
    def standing(self) -> Standing:
        """Return the weakest standing among the shares."""
        order = list(Standing)
        return max((share.basis.standing for share in self.shares), key=order.index)
