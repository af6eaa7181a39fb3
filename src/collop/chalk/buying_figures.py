"""Dressing, cooler shrink and take-home of a carcass: given by the buyer, or as published.

Each is a band: a usual figure between a low and a high end. A row from memory is never a cited
figure, and is marked where it is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import exact
from collop.reference.carcassrules import RuleRow, carcass_rules
from collop.wire import Reader

__all__ = ["FIGURES", "Band", "published_band", "read_band"]

FIGURES = ("dressing", "shrink", "take_home")
_NAMES = {"dressing": "dressing share", "shrink": "cooler shrink", "take_home": "take-home share"}
#: Rows of the reference table by figure and species: the usual one first (its own range or that
#: of the further rows is the band).
_ROWS: dict[tuple[str, str], tuple[tuple[str, str, str], ...]] = {
    ("dressing", "beef"): (("dressing_percent", "SLIDEBEEF", ""),),
    ("dressing", "pork"): (("dressing_percent", "NPPC184", ""), ("dressing_percent", "WISHOG", "")),
    ("dressing", "lamb"): (("dressing_percent", "SLIDELAMB", ""),
                           ("dressing_percent", "WISLAMB", "conventional")),
    ("shrink", "beef"): (("cooler_shrink_24h", "MSP3489", ""),),
    ("shrink", "lamb"): (("cooler_shrink_24h", "KSLAMB", ""),),
    ("shrink", "pork"): (("cooler_shrink_24h", "MEM", ""),),
    ("take_home", "beef"): (("cutting_yield_take_home", "MSU70", ""),
                            ("cutting_yield_take_home", "NYCP1200", ""),
                            ("cutting_yield_take_home", "ATM1100", "")),
    ("take_home", "pork"): (("cutting_yield_take_home", "NPPC184", ""),
                            ("cutting_yield_take_home", "OK144", "")),
    ("take_home", "lamb"): (("cutting_yield_take_home", "SLIDELAMB", ""),
                            ("cutting_yield_bone_in", "WISLAMB", "")),
}  # fmt: skip
_KEYS = ("pct", "low", "high", "of", "source")
_LEAST = {"dressing": 1.0, "shrink": 0.0, "take_home": 1.0}
_MOST = {"dressing": 100.0, "shrink": 50.0, "take_home": 100.0}


@dataclass(frozen=True, slots=True)
class Band:
    """One figure as shares from 0 to 1: the usual one and its ends.

    Parameters
    ----------
    usual, low, high : Fraction
        ``low <= usual <= high``.
    source : str
        Where it is from; ``given`` for one of the buyer's.
    is_cited : bool
        Whether it is no figure from memory.
    of : str
        Of take-home: ``hot`` or ``cold``, the carcass weight it is a share of.
    """

    usual: Fraction
    low: Fraction
    high: Fraction
    source: str
    is_cited: bool = True
    of: str = "hot"

    def at(self, end: str) -> Fraction:
        """Return the ``low``, ``usual`` or ``high`` figure."""
        return {"low": self.low, "usual": self.usual, "high": self.high}[end]


def _rows(figure: str, species: str) -> tuple[RuleRow, ...]:
    return tuple(
        carcass_rules(quantity, species=species, source_id=source, words=words)[0]
        for quantity, source, words in _ROWS.get((figure, species), ())
    )


def published_band(figure: str, species: str) -> Band | None:
    """Return the published band of a figure, None where none is published.

    Parameters
    ----------
    figure : str
        One of `FIGURES`.
    species : str
        As in the reference table.

    Examples
    --------
    >>> band = published_band("dressing", "beef")
    >>> str(band.low), str(band.usual), str(band.high)
    ('11/20', '31/50', '67/100')
    """
    rows = _rows(figure, species)
    ends = [end for row in rows if row.ends for end in row.ends]
    if not ends:
        return None
    low, high = Fraction(min(ends)), Fraction(max(ends))
    first = rows[0].figure
    usual = (low + high) / 2 if first is None else Fraction(first)
    sources = "; ".join(dict.fromkeys(row.source.text() for row in rows))
    cited = all(row.is_cited for row in rows)
    said = sources if cited else f"{sources} (from memory, not checked)"
    return Band(usual / 100, low / 100, high / 100, said, cited)


def read_band(row: Reader, figure: str, species: str) -> Band | None:
    """Read a figure of an offer, or take the published one; None where there is neither.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    if not row.has(figure):
        return published_band(figure, species)
    one = Reader(row.value[figure], row.where(figure), _KEYS)
    least, most = _LEAST[figure], _MOST[figure]
    usual = exact(one.number("pct", least, most))
    low = exact(one.number("low", least, most, float(usual)))
    high = exact(one.number("high", least, most, float(usual)))
    if not low <= usual <= high:
        raise one.fail("pct", f"is not between the low and the high end of the {_NAMES[figure]}.")
    of = one.choice("of", ("hot", "cold"), "hot")
    source = str(one.text("source", "given"))[:200] or "given"
    return Band(usual / 100, low / 100, high / 100, source, of=of)
