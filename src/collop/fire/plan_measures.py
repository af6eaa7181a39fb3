"""Lengths and areas of a plan in words, both units, the asked one first; and what is told first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

__all__ = ["SAFETY_ASKS", "area_words", "safety_first", "thickness_words"]

_SQ_CM, _MM = 2.54**2, 25.4
#: Questions whose answer can hurt: what was taken for granted there is told first.
SAFETY_ASKS = ("Hotter than that", "Ride home")
_T = TypeVar("_T")


def thickness_words(name: str, millimetres: float, known: str, unit: str) -> str:
    """Return how thick a piece is taken to be, and how that is known.

    Parameters
    ----------
    millimetres : float
        Its thickness [mm].
    known : str
        ``measured``, ``as told``, ``as the shop cuts it`` and the like.
    unit : str
        ``F``: inches first; ``C``: millimetres first.

    Examples
    --------
    >>> thickness_words("Steak", 38.1, "measured", "F")
    'Steak: 1.5 in (38 mm) thick, measured.'
    """
    inches, metric = f"{millimetres / _MM:.1f} in", f"{int(millimetres + 0.5)} mm"
    return f"{name}: {_pair(inches, metric, unit)} thick, {known}."


def area_words(square_inches: float, unit: str) -> str:
    """Return an area in both units, square inches first for ``F``.

    Examples
    --------
    >>> area_words(380, "C")
    '2,452 sq cm (380 sq in)'
    """
    metric = f"{int(square_inches * _SQ_CM + 0.5):,} sq cm"
    return _pair(f"{int(square_inches + 0.5):,} sq in", metric, unit)


def _pair(inches: str, metric: str, unit: str) -> str:
    return f"{metric} ({inches})" if unit == "C" else f"{inches} ({metric})"


def safety_first(lines: Iterable[tuple[str, _T]]) -> list[_T]:
    """Return lines in their order, but those that answer a question of safety first.

    Parameters
    ----------
    lines : iterable of (str, object)
        The question of each line, and the line.
    """
    order = {ask: place for place, ask in enumerate(SAFETY_ASKS)}
    return [line for _, line in sorted(lines, key=lambda one: order.get(one[0], len(order)))]
