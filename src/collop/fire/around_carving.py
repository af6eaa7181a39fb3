"""Which way the grain runs: one sentence on how to slice each kind of cut.

Common practice of the trade, no published source.
"""

from __future__ import annotations

import re
from typing import NamedTuple

__all__ = ["carve_line"]

_BIRDS = frozenset({"chicken", "duck", "turkey", "goose", "guinea fowl", "quail", "pheasant"})
_BIRD = "Legs off first, then each breast off the bone, and slice it across."
_AS_IT_IS = "As they are: nothing to carve."
_SEAM = "Seam the muscles apart first, then slice each across its own grain."
_ACROSS = "Slice across the grain."


class _Kind(NamedTuple):
    """Words of a name, the forms it holds for (none: all), and the sentence."""

    words: str
    forms: frozenset[str]
    line: str


_CUT = frozenset({"steak", "thin", ""})
_ANY: frozenset[str] = frozenset()
# the first that fits is taken, so what is narrow stands before what is wide
_KINDS = (
    _Kind(r"links?|sausages?", _ANY, "As they are: do not prick or cut them on the fire."),
    _Kind(r"skewers?|diced|kebabs?", _ANY, "Slide off the skewer: nothing to carve."),
    _Kind(r"mince|patty|patties|burgers?|ground", _ANY, _AS_IT_IS),
    _Kind(
        r"hanger|skirt|flank|bavette",
        _ANY,
        "The grain is long and easy to see: slice thin, straight across it.",
    ),
    _Kind(
        r"short ribs?|riblets?|spare ribs?|ribs",
        _ANY,
        "Cut between the bones; off the bone, slice across the grain.",
    ),
    _Kind(r"chops?|cutlets?", _ANY, _AS_IT_IS),
    _Kind(r"cross-?cut", _ANY, _SEAM),
    _Kind(r"neck|shin|shank", _ANY, "Lift the meat from the bone with a spoon; no knife."),
    _Kind(
        r"brisket",
        _ANY,
        "Slice across the grain; it turns where the two muscles meet, so turn the piece there.",
    ),
    _Kind(r"belly", frozenset({"roast", "joint"}), "Skin side down, slice across the layers."),
    _Kind(r"belly", _ANY, _AS_IT_IS),
    _Kind(
        r"blade|flat ?iron",
        _ANY,
        "Cut along the line of gristle in the middle, then slice across the grain.",
    ),
    _Kind(r"rump", frozenset({"roast", "joint"}), _SEAM),
    _Kind(r"rump", _ANY, "Slice across the grain on the slant; turn the knife where it turns."),
    _Kind(r"shoulder steaks?|eye steaks?|slices?", _ANY, _AS_IT_IS),
    _Kind(r"shoulder|pulled", _ANY, "Pull from the bone, then shred along the grain by hand."),
    _Kind(
        r"legs?|ham|haunch|gigot",
        _ANY,
        "Slice across the grain from the thick end, the knife square to the bone, the shank as "
        "handle.",
    ),
    _Kind(
        r"fillet|tenderloin|loin",
        frozenset({"roast", "joint", ""}),
        "The grain runs along it: slice straight across.",
    ),
    _Kind(r"saddle|rack", _ANY, "Cut between the bones, or the eye off whole and across."),
    _Kind(r"steaks?", _CUT, "As they are, or slice across the grain to share."),
)


def carve_line(name: str, species: str | None, form: str, role: str) -> str:
    """Return one sentence on how to slice a piece.

    Parameters
    ----------
    name : str
        As the shop writes it.
    species : str or None
        ``chicken``, ``beef``; ``none`` or None for food without meat.
    form : str
        One of `collop.fire.problem.FORMS`, or empty if it is not known.
    role : str
        ``centre``, ``bird``, ``meat-free`` and so on, or empty.

    Notes
    -----
    Common practice, no published source. Braised and pulled meat is the exception to *across the
    grain*: it falls apart along it.

    Examples
    --------
    >>> carve_line("Beef hanger and skirt", "beef", "thin", "goes-far")
    'The grain is long and easy to see: slice thin, straight across it.'
    >>> carve_line("Chicken, whole", "chicken", "bird-flat", "bird")
    'Legs off first, then each breast off the bone, and slice it across.'
    """
    said = name.casefold()
    kind = (species or "none").casefold()
    if role == "meat-free" or kind in {"none", "plant", "cheese", "vegetable", "egg"}:
        return "As it is, with its own knife and board."
    is_bird = kind in _BIRDS
    if form.startswith("bird"):
        return _BIRD
    if is_bird and (line := _bird_line(said, form)):
        return line
    for words, forms, line in _KINDS:
        if (not forms or form in forms) and re.search(rf"\b({words})\b", said):
            return line
    return _BIRD if is_bird else _by_form(form, role)


def _by_form(form: str, role: str) -> str:
    """Return the sentence of a cut whose name says nothing."""
    if form in {"links", "patty", "skewer"}:
        return _AS_IT_IS
    if form == "thin":
        return "Slice thin, straight across the grain."
    return _SEAM if role == "centre" and form in {"roast", "joint"} else _ACROSS


def _bird_line(said: str, form: str) -> str:
    """Return the sentence of parts of a bird; empty for what is no part."""
    if "whole" in said or re.search(r"\b(links?|mince|patty|patties|diced|skewers?)\b", said):
        return ""
    if re.search(r"\bbreasts?\b", said):
        return "Slice across the grain, slanting."
    if re.search(r"\b(thighs?|legs?|drumsticks?|wings?)\b", said) or form == "joint":
        return "As they are, or cut through the joint."
    return ""
