"""What the others must do about prices that are tried: always from what is needed.

From the board in force the answer would be wrong by all that the board is short of.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from collop.chalk import chalk
from collop.measures import minor_places

__all__ = ["pulls_of", "said"]

#: More sentences than these nobody reads while a price is slid.
_MOST = 3


def said(pulls: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return the sentences of pulls."""
    return tuple(pull["say"] for pull in pulls)


def pulls_of(problem: Mapping[str, Any], held: Mapping[str, Decimal]) -> tuple[str, ...]:
    """Return what each held price asks of the cuts that are free, the first three.

    Parameters
    ----------
    problem : mapping
        A ``collop.chalk/1`` problem with nothing held.
    held : mapping of str to Decimal
        By cut, the price that is typed or kept [money per unit].

    Returns
    -------
    tuple of str
        For each: how far it is from what it needs while the others held stay as they are, and who
        makes up for that.
    """
    return tuple(_pull(problem, held, key) for key in list(held)[:_MOST])


def _pull(problem: Mapping[str, Any], held: Mapping[str, Decimal], key: str) -> str:
    cuts = [
        cut | {"fixed": f"{held[cut['id']]:f}"} if cut["id"] in held and cut["id"] != key else cut
        for cut in problem["cuts"]
    ]
    free = {**problem, "cuts": cuts, "pulls": []}
    cut = next(cut for cut in chalk(free)["cuts"] if cut["id"] == key)
    cent = Decimal(1).scaleb(-minor_places(problem["currency"]))
    by = (held[key] - Decimal(cut["price"])).quantize(cent)
    if not by:
        return f"{cut['name']} is at what it needs"
    pull = {"id": key, "by": f"{by:f}"}
    return said(chalk({**free, "pulls": [pull]})["pulls"])[0]
