"""How a piece on the rail divides into large cuts, with what is lost at the block.

Beef follows the Kansas State shares, pork the 184-lb table (which has its own loss line), lamb the
army cutting test. Goat has no published table: its shares are the shop's own starting figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from collop.carcass.own_styles import GOAT_LARGE_CUTS, PIECE_LOSS
from collop.carcass.shares import PartKind, Share, Style
from collop.carcass.species import large_cuts
from collop.carcass.standing import Basis, Standing
from collop.reference import YieldRow, yield_rows

__all__ = ["dividing"]

_FORE = ("shank", "brisket", "short plate", "rib", "chuck")
_HIND = ("kidney fat", "flank", "round", "sirloin", "short loin")
_BEEF_SHARES = "BEEF_PRIMALS_KSU"
_BEEF_NAMES = {"kidney, pelvic and heart fat": "kidney fat"}
_LAMB_SHARES = "LAMB_ARMY_100"
_LAMB_NAMES = {
    "legs (including sirloin)": "leg",
    "loin (untrimmed)": "loin",
    "rack (eight ribs)": "rack",
    "shoulders (five ribs)": "shoulder",
    "breasts, shanks and neck": "breast, shanks and neck",
}
_PORK_SHARES = "PORK_250_184"
_PORK_NAMES = {
    "ham (leg)": "leg",
    "side (belly)": "belly",
    "loin": "loin",
    "picnic": "shoulder",
    "Boston butt": "shoulder",
}
_HEAD_AND_FEET = "jowl, feet, tail and neck bones"


def dividing(species: str, piece: str) -> Style:
    """Return how a piece divides; its shares and its loss sum to 1.

    Examples
    --------
    >>> dividing("lamb", "carcass").total
    Fraction(1, 1)
    """
    if species == "pork":
        shares = _pork_side()
    elif species == "beef":
        shares = _after_loss(species, _beef(piece))
    elif species == "lamb":
        shares = _after_loss(species, _lamb())
    else:
        shares = _after_loss(species, _unpublished(species))
    return Style(species=species, of=piece, name="in large cuts", shares=shares)


def _beef(piece: str) -> Mapping[str, tuple[Fraction, Basis]]:
    wanted = {"forequarter": _FORE, "hindquarter": _HIND, "side": (*_FORE, *_HIND)}[piece]
    note = "share of the chart, over the large cuts of this piece, after loss"
    found = {}
    for row in yield_rows(_BEEF_SHARES):
        name = _BEEF_NAMES.get(row.primal, row.primal)
        if name in wanted:
            found[name] = _percent(row), Basis.computed(row, note)
    return found


def _lamb() -> Mapping[str, tuple[Fraction, Basis]]:
    note = "share of the cutting test, after loss"
    return {
        _LAMB_NAMES[row.primal]: (_percent(row), Basis.computed(row, note))
        for row in yield_rows(_LAMB_SHARES)
    }


def _percent(row: YieldRow) -> Fraction:
    assert row.primal_pct is not None
    return Fraction(row.primal_pct.low)


def _unpublished(species: str) -> Mapping[str, tuple[Fraction, Basis]]:
    shop = Basis(Standing.SHOP)
    if species == "goat":
        return {name: (Fraction(share), shop) for name, share in GOAT_LARGE_CUTS}
    return {"bird": (Fraction(1), shop)}


def _after_loss(species: str, parts: Mapping[str, tuple[Fraction, Basis]]) -> tuple[Share, ...]:
    """Return the large cuts in the order of the knife, scaled so that they close with the loss."""
    loss = Fraction(PIECE_LOSS[species], 1000)
    whole = sum((share for share, _ in parts.values()), Fraction(0))
    order = [cut.name for cut in large_cuts(species) if cut.name in parts]
    return (
        *(
            Share(name, PartKind.LARGE, parts[name][0] / whole * (1 - loss), parts[name][1])
            for name in order
        ),
        Share("saw dust and drip", PartKind.LOSS, loss, Basis(Standing.SHOP)),
    )


def _pork_side() -> tuple[Share, ...]:
    rows = yield_rows(_PORK_SHARES)
    pounds: dict[str, Fraction] = {}
    for row in rows:
        assert row.lb is not None
        name = _PORK_NAMES.get(row.primal, row.item)
        pounds[name] = pounds.get(name, Fraction(0)) + Fraction(row.lb)
    jowl, waste, loss = (row.item for row in rows if row.primal == "miscellaneous")
    whole = sum(pounds.values(), Fraction(0))
    basis = Basis.computed(rows[0], "share computed from the pounds of the table")
    named = {_HEAD_AND_FEET: pounds[jowl]} | {name: pounds[name] for name in _PORK_NAMES.values()}
    return (
        *(
            Share(cut.name, PartKind.LARGE, named[cut.name] / whole, basis)
            for cut in large_cuts("pork")
        ),
        Share(waste, PartKind.FAT_BONE, pounds[waste] / whole, basis),
        Share(loss, PartKind.LOSS, pounds[loss] / whole, basis),
    )
