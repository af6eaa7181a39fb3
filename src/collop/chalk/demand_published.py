"""What is published on how buyers answer the price of meat, as a belief to start from.

Market figures are near or under 1: a whole country cannot go next door.  A single counter has
rivals, so its own elasticity is larger, and no table gives it.  The nearest published figures are
those for single grades of beef, which rival each other as counters do (source id ``E01``, seen).
The belief is therefore a range, and our rule for it is:

- *beef*: from the lowest to the highest of the grades;
- *another species with a cited figure of its own*: from its largest market figure to the highest of
  the grades;
- *any other species*: that of beef stands in, twice as wide.

The middle of the range is the elasticity, half its width the standard deviation: common practice,
no published source.  Figures from memory are shown with that mark and take no part.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from collop.reference import ElasticityRow, elasticity_rows

__all__ = ["published_prior"]

_OWN = "own_price_elasticity"
_GRADES = "E01"
#: Names that the table has for a species beside its own.
_OTHER_NAMES = {"chicken": ("poultry",), "turkey": ("poultry",), "poultry": ("chicken",)}


def published_prior(species: str, cut: str = "") -> dict[str, Any]:
    """Return a belief on the elasticity of a cut at a single counter, with the rows behind it.

    Parameters
    ----------
    species : str
        E.g. ``beef``; a species without a published figure gets that of beef, twice as wide.
    cut : str
        A name as in the table, e.g. ``Prime beef``: then the middle is that figure.

    Returns
    -------
    dict
        ``elasticity`` and ``sd`` as numbers, ``source``, ``status``, ``say``, and ``rows``: every
        own-price figure of the species, with its status.

    Examples
    --------
    >>> prior = published_prior("beef")
    >>> prior["elasticity"], prior["sd"]
    (1.785, 0.545)
    """
    name = species.strip().lower() or "beef"
    grades = tuple(row for row in elasticity_rows(_OWN, cited_only=True)
                   if row.source.source_id == _GRADES)  # fmt: skip
    top = max(grades, key=_size)
    bottom = min(grades, key=_size)
    others = tuple(row for row in _rows_of(name) if row not in grades)
    own = [row for row in others if row.is_cited]
    wide = 1
    if name == "beef":
        say = f"grades of beef run from {_size(bottom)} to {_size(top)}"
    elif own:
        bottom = max(own, key=_size)
        say = (
            f"from {_size(bottom)}, the largest published figure of the {name} market, to "
            f"{_size(top)}, the highest of the grades of beef: a counter has rivals"
        )
    else:
        wide = 2
        say = f"no published figure for {name[:40]}; the beef figure stands in, twice as wide"
    used: tuple[ElasticityRow, ...] = (top, bottom)
    middle, status = (_size(bottom) + _size(top)) / 2, "computed"
    named = [row for row in (*grades, *own) if cut and row.item.lower() == cut.strip().lower()]
    if named:
        middle, used, status = _size(named[-1]), (named[-1],), named[-1].status.value
        say = f"the published figure for {named[-1].item}"
    return {
        "elasticity": float(middle),
        "sd": float((_size(top) - _size(bottom)) / 2 * wide),
        "source": "; ".join(dict.fromkeys(f"{r.source.source_id} {r.source.title}" for r in used)),
        "status": status,
        "say": say,
        "rows": [_row_json(row) for row in (*grades, *others)],
    }


def _size(row: ElasticityRow) -> Decimal:
    assert row.value is not None
    return abs(row.value)


def _rows_of(name: str) -> tuple[ElasticityRow, ...]:
    names = (name, *_OTHER_NAMES.get(name, ()))
    return tuple(
        row
        for row in elasticity_rows(_OWN)
        if row.value is not None
        and (row.item.lower() in names or row.item.lower().startswith(f"{name},"))
    )


def _row_json(row: ElasticityRow) -> dict[str, Any]:
    return {
        "item": row.item,
        "elasticity": float(_size(row)),
        "period": row.period,
        "source_id": row.source.source_id,
        "status": row.status.value,
        "note": row.note if row.is_cited else "; ".join(filter(None, ("from memory", row.note))),
    }
