"""Cutting styles: each large cut in one style at a time, every style closing to 1 with its loss.

A piece on the rail is a tree. Its first node divides it into large cuts by a published table;
each of these has styles that exclude one another. Published shares are taken as pounds over the
sum of their pounds, so nothing is rounded before the scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.carcass.cut_of_part import cut_of_part
from collop.carcass.own_styles import BRISKET_BONING, BRISKET_BONING_MINUTES, OWN_STYLES
from collop.carcass.pieces import dividing
from collop.carcass.shares import PartKind, Share, Style
from collop.carcass.species import PIECES, large_cut_named, plain, species_named
from collop.carcass.standing import Basis, Standing
from collop.errors import BadValue
from collop.reference import (
    CutStyleRow,
    Span,
    YieldRow,
    chicken_parts,
    cut_style_rows,
    yield_rows,
)

__all__ = ["style_named", "styles_of"]


_GROUPS = {
    ("beef", "chuck"): "B-CHUCK", ("beef", "rib"): "B-RIB", ("beef", "short loin"): "B-SHORTLOIN",
    ("beef", "sirloin"): "B-SIRLOIN", ("beef", "round"): "B-ROUND",
    ("beef", "short plate"): "B-PLATE",
    ("pork", "shoulder"): "P-SHOULDER", ("pork", "loin"): "P-LOIN", ("pork", "leg"): "P-LEG",
    ("pork", "belly"): "P-BELLY", ("lamb", "leg"): "L-LEG", ("lamb", "rack"): "L-RACK",
    ("lamb", "loin"): "L-LOIN", ("lamb", "shoulder"): "L-SHOULDER", ("chicken", "bird"): "C-BIRD",
}  # fmt: skip
# the style that a starting plan takes, where it is not the first
_USUAL = {
    ("beef", "chuck"): "boneless chuck roll and clod, roasts",
    ("beef", "rib"): "bone-in rib steaks",
    ("beef", "sirloin"): "seamed to single muscles",
    ("beef", "round"): "seamed boneless",
    ("beef", "brisket"): "split flat and point",
    ("lamb", "breast, shanks and neck"): "on the bone",
    ("chicken", "bird"): "eight-piece, back out",
    ("duck", "bird"): "breasts, legs, wings",
}
# pounds of a published table, read as a style: large cut, style, table, large cuts of the table
_FROM_TABLES = (
    ("beef", "chuck", "as the 715-lb table", "BEEF_1150_715", ("chuck",)),
    ("beef", "rib", "as the 715-lb table", "BEEF_1150_715", ("rib",)),
    ("beef", "round", "as the 715-lb table", "BEEF_1150_715", ("round",)),
    ("beef", "round", "as the 682-lb table", "BEEF_1100_682", ("round",)),
    ("beef", "flank", "as the 682-lb table", "BEEF_1100_682", ("flank",)),
    ("pork", "leg", "as the 184-lb table", "PORK_250_184", ("ham (leg)",)),
    ("pork", "belly", "as the 184-lb table", "PORK_250_184", ("side (belly)",)),
    ("pork", "loin", "as the 184-lb table", "PORK_250_184", ("loin",)),
    ("pork", "shoulder", "as the 184-lb table", "PORK_250_184", ("Boston butt", "picnic")),
    ("lamb", "shoulder", "as the 60-lb slides", "LAMB_120_60", ("shoulder",)),
)
# fat with no bone in its name: the only lines that can be told apart
_ONLY_FAT = frozenset({"fat", "fat trim", "skin and fat"})


def _kind(kind: str, part: str) -> PartKind:
    if kind == "fat_bone" and part in _ONLY_FAT:
        return PartKind.FAT
    return PartKind(kind)


def _from_rows(species: str, large_cut: str, rows: Iterable[CutStyleRow]) -> Iterator[Style]:
    named: dict[str, list[CutStyleRow]] = {}
    for row in rows:
        # published totals stand alone; the published split is taken from its pounds instead
        if row.kind != "total" and "published split" not in row.style:
            named.setdefault(row.style.removesuffix(", detail"), []).append(row)
    for name, outputs in named.items():
        first = outputs[0]
        standing = Standing(first.minutes_status) if first.minutes_status else Standing.MEMORY
        yield Style(
            species=species,
            of=large_cut,
            name=name,
            shares=tuple(
                Share(
                    row.output,
                    _kind(row.kind, row.output),
                    Fraction(row.pct.low) / 100,
                    Basis.of(row),
                    cut_of_part(species, large_cut, row.output),
                )
                for row in outputs
            ),
            minutes=first.minutes,
            minutes_basis=Basis(standing, first.source.text(), first.note),
        )


def _pounds(row: YieldRow) -> Fraction:
    assert row.lb is not None
    return Fraction(row.lb)


def _from_table(species: str, large_cut: str, name: str, rows: tuple[YieldRow, ...]) -> Style:
    whole = sum(map(_pounds, rows), Fraction(0))
    note = "share computed from the pounds of the table"
    return Style(
        species=species,
        of=large_cut,
        name=name,
        shares=tuple(
            Share(
                row.item,
                _kind(row.kind, row.item),
                _pounds(row) / whole,
                Basis.computed(row, note),
                cut_of_part(species, large_cut, row.item),
            )
            for row in rows
        ),
    )


def _published(species: str, large_cut: str) -> Iterator[Style]:
    group = _GROUPS.get((species, large_cut))
    if group is not None:
        yield from _from_rows(species, large_cut, cut_style_rows(group))
    for of, cut, name, table_id, primals in _FROM_TABLES:
        if (of, cut) == (species, large_cut):
            rows = tuple(row for primal in primals for row in yield_rows(table_id, primal=primal))
            yield _from_table(species, large_cut, name, rows)
    if (species, large_cut) == ("beef", "brisket"):
        yield from map(_after_boning, _from_rows("beef", "brisket", cut_style_rows("B-BRISKET")))
    if (species, large_cut) == ("chicken", "bird"):
        yield _ten_birds()
    if (species, large_cut) == ("lamb", "breast, shanks and neck"):
        yield _boneless_lean()


def _ten_birds() -> Style:
    rows = chicken_parts("CHICKEN_HALF_1998", kind="part")
    grams = [Fraction(row.weight.low) for row in rows if row.weight is not None]
    note = "share computed from the grams of the study"
    return Style(
        species="chicken",
        of="bird",
        name="eight-piece, as the ten-bird study",
        shares=tuple(
            Share(row.part, PartKind.CUT, gram / sum(grams), Basis.computed(row, note),
                  cut_of_part("chicken", "bird", row.part))
            for row, gram in zip(rows, grams, strict=True)
        ),
    )  # fmt: skip


def _after_boning(style: Style) -> Style:
    """Return a style of the boneless brisket as one of the brisket with its bone."""
    shop = Basis(Standing.SHOP)
    boned = tuple(
        Share(part, PartKind(kind), Fraction(share, 1000), shop, cut_id)
        for part, kind, share, cut_id in BRISKET_BONING
    )
    left = 1 - sum(share.fraction for share in boned)
    cut = (replace(share, fraction=share.fraction * left) for share in style.shares)
    assert style.minutes is not None
    minutes = style.minutes.low + BRISKET_BONING_MINUTES
    return replace(style, shares=(*cut, *boned), minutes=Span(minutes, minutes))


def _boneless_lean() -> Style:
    (row,) = yield_rows("LAMB_ARMY_BONELESS", primal="breasts, shanks and necks")
    lean = _pounds(row) / 100
    return Style(
        species="lamb",
        of="breast, shanks and neck",
        name="boneless lean",
        shares=(
            Share("boneless lean for stew and mince", PartKind.TRIM, lean, Basis.of(row)),
            Share("bone, fat and loss", PartKind.FAT_BONE, 1 - lean,
                  Basis.computed(row, "the rest of the large cut")),
        ),
    )  # fmt: skip


def _own(species: str, of: str) -> Iterator[Style]:
    shop = Basis(Standing.SHOP)
    for own_species, large_cut, name, minutes, parts in OWN_STYLES:
        if (own_species, large_cut) == (species, of):
            yield Style(
                species=species,
                of=of,
                name=name,
                shares=tuple(
                    Share(part, PartKind(kind), Fraction(share, 1000), shop, cut_id)
                    for part, kind, share, cut_id in parts
                ),
                minutes=_span(minutes),
                minutes_basis=shop,
            )


def _span(minutes: str) -> Span:
    return Span(Decimal(minutes), Decimal(minutes))


@cache
def _styles(species: str, of: str) -> tuple[Style, ...]:
    if any(piece.species == species and piece.name == of for piece in PIECES):
        return (dividing(species, of),)
    found = (*_published(species, of), *_own(species, of))
    usual = _USUAL.get((species, of))
    return tuple(sorted(found, key=lambda style: usual is not None and style.name != usual))


def styles_of(species: str, of: str) -> tuple[Style, ...]:
    """Return the ways to cut a large cut, or to divide a piece; the usual one first.

    Parameters
    ----------
    species : str
        The animal.
    of : str
        A large cut such as ``sirloin``, or a piece such as ``forequarter``.

    Raises
    ------
    BadValue
        If the animal has no such large cut or piece.

    Examples
    --------
    >>> [style.name for style in styles_of("beef", "short plate")]
    ['plate short ribs whole', 'all trim but skirts']
    """
    name = species_named(species)
    found = _styles(name, of)
    return found or _styles(name, large_cut_named(name, of).name)


def style_named(species: str, of: str, text: str, *, where: str = "") -> Style:
    """Return one style of a large cut by its name; the usual one if the text is empty.

    Raises
    ------
    BadValue
        If there is no such style.
    """
    found = styles_of(species, of)
    if not text:
        return found[0]
    for style in found:
        if plain(style.name) == plain(text):
            return style
    names = "; ".join(style.name for style in found)
    raise BadValue(f"{text[:60]!r} is no style of {of}; use one of: {names}.", where=where)
