"""How a household's choice is cut: the style for each large cut, and starting figures of ours.

Shares come from the cutting styles of `collop.carcass.styles`, each with its own source. They are
of trimmed large cuts, so a carcass would seem to give more than any plant reports; the published
take-home of the whole carcass (`TAKE_HOME`) says how much is trimmed off before.

References
----------
.. [1] Michigan State University Extension, freezer beef. Source id ``MSU70``: 70 % of the carcass.
.. [2] Lamb carcass of 60 lb. Source id ``SLIDELAMB``: 42 lb.
.. [3] Hog carcass of 184 lb. Source id ``NPPC184``: 140 lb.
.. [4] A lean side cut for a household. Source id ``NORMSIDE``: 15 lb of rib on the bone, 10 lb
   boneless, in about 10 steaks of 1.25 in.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.carcass.shares import PartKind, Style
from collop.carcass.species import large_cuts
from collop.carcass.styles import style_named, styles_of
from collop.reference import RuleRow, carcass_rules

__all__ = [
    "BONELESS_LB_PER_CUBIC_FOOT",
    "BONE_IN_LB_PER_CUBIC_FOOT",
    "FAT_OF_FAT_PCT",
    "LB_PER_INCH",
    "PACK_LB",
    "RIB_LB_PER_INCH",
    "ROAST_LB",
    "TAKE_HOME",
    "THICKNESS_INCHES",
    "TRIM_FAT_PCT",
    "outer_trim",
    "style_of_choice",
    "take_home_row",
    "usual_form",
]  # fmt: skip

#: Wrapped cuts that fill a cubic foot of freezer [lb]. From memory, not checked.
BONELESS_LB_PER_CUBIC_FOOT = (Fraction(35), Fraction(40))
#: The same on the bone [lb], which packs looser. From memory, not checked.
BONE_IN_LB_PER_CUBIC_FOOT = (Fraction(28), Fraction(35))
#: Fat in the trim of a household's animal [%]. Common practice, no published source.
TRIM_FAT_PCT = {"beef": Decimal(25), "pork": Decimal(30), "lamb": Decimal(25), "goat": Decimal(12)}
#: Fat in what is trimmed off as fat [%]. Common practice, no published source.
FAT_OF_FAT_PCT = Decimal(85)
#: Pounds of a boneless and a bone-in rib of beef for each inch cut off it [4]_.
RIB_LB_PER_INCH = {"out": Fraction(4, 5), "in": Fraction(6, 5)}
#: The same where the catalogue has no chop of that cut [lb]. Common practice, no published source.
LB_PER_INCH = {
    "pork": {"out": Fraction(2, 5), "in": Fraction(1, 2)},
    "lamb": {"out": Fraction(1, 5), "in": Fraction(3, 10)},
    "goat": {"out": Fraction(3, 20), "in": Fraction(1, 5)},
}
#: A steak or chop where nobody says how thick [in]. Common practice, no published source.
THICKNESS_INCHES = Decimal(1)
#: A roast where nobody says how heavy [lb]. Common practice, no published source.
ROAST_LB = {"beef": Decimal(3), "pork": Decimal(4), "lamb": Decimal(4), "goat": Decimal(3)}
#: A pack of mince or stew where nobody says how heavy [lb]. Common practice, no published source.
PACK_LB = Decimal(1)
#: The published take-home of a carcass, by species: quantity and source of its row.
TAKE_HOME = {"beef": "MSU70", "pork": "NPPC184", "lamb": "SLIDELAMB"}

# species, large cut: style on the bone, style boneless
_STYLES = {
    ("beef", "shank"): ("cross-cut", "boned for mince"),
    ("beef", "brisket"): ("whole, deckle off", "split flat and point"),
    ("beef", "short plate"): ("plate short ribs whole", "all trim but skirts"),
    ("beef", "rib"): ("bone-in roast", "ribeye roll plus back ribs"),
    ("beef", "chuck"): (
        "bone-in 7-bone, blade and arm pot roasts", "boneless chuck roll and clod, roasts"),
    ("beef", "kidney fat"): ("hanger and suet", "hanger and suet"),
    ("beef", "flank"): ("as the 682-lb table", "as the 682-lb table"),
    ("beef", "round"): ("bone-in round steaks (saw-cut)", "seamed boneless"),
    ("beef", "sirloin"): (
        "bone-in cross-cut centrepiece steaks", "boneless whole-sirloin cross-cut"),
    ("beef", "short loin"): ("T-bone and porterhouse", "boneless strip plus tenderloin"),
    ("pork", "jowl, feet, tail and neck bones"): ("sorted", "sorted"),
    ("pork", "leg"): ("whole roast or curing ham", "boneless roast"),
    ("pork", "shoulder"): ("whole butt and whole picnic", "boneless roasts"),
    ("pork", "belly"): ("ribs off, skin-on belly", "belly, skinned and squared for bacon"),
    ("pork", "loin"): ("bone-in chops", "boneless"),
    ("lamb", "breast, shanks and neck"): ("on the bone", "boneless lean"),
    ("lamb", "shoulder"): ("bone-in whole roast", "boneless rolled or diced"),
    ("lamb", "leg"): ("whole roast, shank frenched", "butterflied boneless"),
    ("lamb", "rack"): ("frenched racks", "boneless eye"),
    ("lamb", "loin"): ("bone-in saddle roast", "boneless rolled"),
    ("goat", "neck and breast"): ("on the bone", "diced on the bone"),
    ("goat", "shoulder"): ("whole, on the bone", "boned and rolled"),
    ("goat", "leg"): ("whole, on the bone", "boned"),
    ("goat", "rack"): ("whole racks", "whole racks"),
    ("goat", "loin"): ("loin chops", "loin chops"),
}  # fmt: skip
# where steaks or chops on the bone come from another style than the roast does
_SLICED = {
    ("beef", "rib"): "bone-in rib steaks",
    ("pork", "leg"): "rump and shank portions with center slices",
    ("pork", "shoulder"): "bone-in blade chops and steaks plus picnic roast",
    ("lamb", "leg"): "leg steaks plus half roasts",
    ("lamb", "shoulder"): "blade and arm chops",
    ("lamb", "rack"): "rib chops, plain",
    ("lamb", "loin"): "T-bone loin chops",
    ("goat", "rack"): "rib chops",
}
_USUALLY_SLICED = frozenset({"rib", "sirloin", "short loin", "rack", "loin", "shank"})
_SALEABLE = frozenset({PartKind.CUT, PartKind.TRIM})


def usual_form(large_cut: str) -> str:
    """Return what a large cut becomes where nobody chose: ``steaks`` or ``roasts``."""
    return "steaks" if large_cut in _USUALLY_SLICED else "roasts"


def style_of_choice(species: str, large_cut: str, bone: str, form: str) -> Style:
    """Return the cutting style that a choice asks for.

    Parameters
    ----------
    species, large_cut : str
        As in `collop.carcass.large_cuts`.
    bone : str
        ``in`` or ``out``. Stew and mince are always boned.
    form : str
        ``steaks``, ``roasts``, ``stew`` or ``mince``.

    Examples
    --------
    >>> style_of_choice("lamb", "leg", "out", "roasts").name
    'butterflied boneless'
    """
    key = species, large_cut
    if key not in _STYLES:
        return styles_of(species, large_cut)[0]
    on_bone, boned = _STYLES[key]
    if bone == "out" or form in {"stew", "mince"}:
        return style_named(species, large_cut, boned)
    name = _SLICED.get(key, on_bone) if form == "steaks" else on_bone
    return style_named(species, large_cut, name)


def take_home_row(species: str) -> RuleRow | None:
    """Return the published take-home of a carcass; None where none was read."""
    source = TAKE_HOME.get(species)
    if source is None:
        return None
    rows = carcass_rules("cutting_yield_take_home", species=species, source_id=source)
    return rows[0]


@cache
def outer_trim(species: str, take_home_pct: Decimal) -> Fraction:
    """Return the share of each large cut that is trimmed off before its style begins.

    It is what makes the whole carcass, cut on the bone as usual, give `take_home_pct` of its
    weight; zero if the styles give no more than that anyway.

    Parameters
    ----------
    species : str
        The animal.
    take_home_pct : Decimal
        Cuts and trim taken home [% of the hanging weight].

    Examples
    --------
    >>> from decimal import Decimal
    >>> round(float(outer_trim("lamb", Decimal(70))), 3)
    0.229
    """
    piece = "side" if species in {"beef", "pork"} else "carcass"
    shares = {one.part: one.fraction for one in styles_of(species, piece)[0].shares}
    given = sum(
        (shares[cut.name] * _saleable(species, cut.name) for cut in large_cuts(species)),
        Fraction(0),
    )
    return max(Fraction(0), 1 - Fraction(take_home_pct) / 100 / given)


def _saleable(species: str, large_cut: str) -> Fraction:
    style = style_of_choice(species, large_cut, "in", usual_form(large_cut))
    return sum((one.fraction for one in style.shares if one.kind in _SALEABLE), Fraction(0))
