"""Which identifiers may stand together in one code: missing partners, forbidden pairs, repeats.

References
----------
.. [1] GS1 Barcode Syntax Dictionary, entries of each identifier: rules BC104 to BC112. Each rule
   below names its row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from collop.errors import BadValue

__all__ = ["PAIRINGS", "Pairing", "check_pairings"]


@dataclass(frozen=True, slots=True)
class Pairing:
    """What one group of identifiers asks of the others in the same code.

    Parameters
    ----------
    rule_id : str
        The row it was read from.
    of : tuple of str
        Identifiers it rules; ``?`` stands for any digit.
    needs : tuple of tuple of str
        From each inner group one must be there too.
    never_with : tuple of str
        None of these may be there.
    once : bool
        Whether only one of the group `of` may be there, pattern by pattern.
    """

    rule_id: str
    of: tuple[str, ...]
    needs: tuple[tuple[str, ...], ...] = ()
    never_with: tuple[str, ...] = ()
    once: bool = False


_MEASURES = ("30", "31??", "32??", "35??", "36??")
_ITEM = ("01", "02", "03", "8006", "8026")
#: Every pairing rule, as data.
PAIRINGS = (
    Pairing("BC104", ("10", "11", "13", "15", "16"), (_ITEM,)),
    Pairing("BC104", ("17",), ((*_ITEM, "255"),)),
    Pairing("BC105", ("21",), (("01", "03", "8006"),), ("235",)),
    Pairing("BC106", ("251",), (("01", "03", "8006"),)),
    Pairing("BC107", ("310?", "320?"), (("01", "02"),), once=True),
    Pairing("BC108", ("392?",), (("01",), _MEASURES), ("393?",), once=True),
    Pairing("BC109", ("395?",), (_MEASURES,), ("392?", "393?", "8005"), once=True),
    Pairing("BC110", ("422",), (), ("426",)),
    Pairing("BC111", ("7002", "703?"), (("01", "02"),)),
    Pairing("BC112", ("01",), (), ("255", "37")),
)


def _among(ais: Sequence[str], patterns: Sequence[str]) -> list[str]:
    return [ai for ai in ais if any(fnmatchcase(ai, pattern) for pattern in patterns)]


def _named(patterns: Sequence[str]) -> str:
    return " or ".join(f"({pattern.replace('?', 'n')})" for pattern in patterns)


def check_pairings(ais: Sequence[str]) -> None:
    """Refuse identifiers that may not stand together.

    Parameters
    ----------
    ais : sequence of str
        Every identifier of one code.

    Raises
    ------
    BadValue
        Naming the repeat, the missing partner or the forbidden pair.
    """
    seen: set[str] = set()
    for ai in ais:
        if ai in seen:
            raise BadValue(f"({ai}) stands twice in one code; keep one of them.")
        seen.add(ai)
    for rule in PAIRINGS:
        for pattern in rule.of:
            here = _among(ais, (pattern,))
            if rule.once and len(here) > 1:
                raise BadValue(f"({here[0]}) and ({here[1]}) say the same thing; keep one of them.")
            if here:
                _check_rule(rule, here[0], ais)


def _check_rule(rule: Pairing, ai: str, ais: Sequence[str]) -> None:
    """Refuse a missing partner of `ai`, or one it may not stand with."""
    for group in rule.needs:
        if not _among(ais, group):
            raise BadValue(f"({ai}) must come with {_named(group)}; add it.")
    against = _among(ais, rule.never_with)
    if against:
        raise BadValue(f"({ai}) may not stand with ({against[0]}); leave one of them out.")
