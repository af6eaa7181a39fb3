"""Four small signs beside the safe-handling statements, our own: cold, apart, heat, hot dish.

Rule LB010 and those around it ask for a graphic beside each statement, in the colour of the
letters. Each sign is made of a few shapes on a square of `GRID` units, so that both drawings, of
dots and of lines, are the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["GRID", "SIGNS", "SIGN_OF_PART", "Shape"]

#: Units of the square a sign stands on.
GRID = 48


@dataclass(frozen=True, slots=True)
class Shape:
    """One filled shape.

    Parameters
    ----------
    points : tuple of (x, y)
        Corners of a polygon [units], or the two corners of an ellipse's box.
    dark : bool
        Ink, or paper that covers ink drawn before.
    round : bool
        Whether it is an ellipse.
    """

    points: tuple[tuple[float, float], ...]
    dark: bool = True
    round: bool = False


def _box(x: float, y: float, w: float, h: float, *, dark: bool = True) -> Shape:
    return Shape(((x, y), (x + w, y), (x + w, y + h), (x, y + h)), dark)


def _oval(x: float, y: float, w: float, h: float, *, dark: bool = True) -> Shape:
    return Shape(((x, y), (x + w, y + h)), dark, round=True)


def _spoke(dx: float, dy: float) -> tuple[Shape, ...]:
    """Return one arm of a snow star through the middle, with its two small barbs on each end."""
    middle, half = GRID / 2, 2.0
    nx, ny = -dy, dx
    shapes = [_bar(middle - 22 * dx, middle - 22 * dy, middle + 22 * dx, middle + 22 * dy, half)]
    for end in (-1, 1):
        cx, cy = middle + end * 13 * dx, middle + end * 13 * dy
        for side in (-1, 1):
            tip_x = cx + end * 6 * dx + side * 6 * nx
            tip_y = cy + end * 6 * dy + side * 6 * ny
            shapes.append(_bar(cx, cy, tip_x, tip_y, 1.6))
    return tuple(shapes)


def _bar(
    x1: float, y1: float, x2: float, y2: float, half: float, *, dark: bool = True
) -> Shape:  # fmt: skip
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    nx, ny = -(y2 - y1) / length * half, (x2 - x1) / length * half
    corners = ((x1 + nx, y1 + ny), (x2 + nx, y2 + ny), (x2 - nx, y2 - ny), (x1 - nx, y1 - ny))
    return Shape(corners, dark)


def _flame(x: float, y: float, size: float) -> Shape:
    """Return a flame with two tongues over a broad foot, its tip at x and y."""
    outline = ((0, 0), (3, 4), (4, 7), (5.5, 5), (6.5, 9), (5.5, 14), (3, 17), (-3, 17),
               (-6, 14), (-6.5, 10), (-5, 7), (-4, 9), (-2.5, 6))  # fmt: skip
    return Shape(tuple((x + size * dx, y + size * dy) for dx, dy in outline))


def _steam(x: float) -> tuple[Shape, ...]:
    return (
        _bar(x, 2, x - 3, 7, 1.5),
        _bar(x - 3, 6.4, x, 12, 1.5),
        _bar(x, 11.4, x - 3, 17, 1.5),
    )


_COLD = (*_spoke(0.0, 1.0), *_spoke(0.866, 0.5), *_spoke(0.866, -0.5))
# a wall between two boards: a chop with its bone on one, a leaf with its rib on the other
_APART = (
    _box(22, 1, 4, 46),
    Shape(((2, 14), (6, 7), (13, 6), (18, 11), (18, 19), (14, 25), (12, 32), (7, 33), (6, 26),
           (2, 21))),
    Shape(((6, 14), (9, 11), (13, 12), (13, 17), (10, 20), (6, 18)), dark=False),
    _box(0, 37, 19, 6),
    Shape(((38, 2), (44, 10), (46, 18), (43, 26), (39.5, 29), (39.5, 34), (36.5, 34), (36.5, 29),
           (32, 26), (30, 18), (32, 10))),
    Shape(((37.2, 9), (38.8, 9), (38.8, 28), (37.2, 28)), dark=False),
    _bar(38, 21, 33, 15, 0.9, dark=False),
    _bar(38, 21, 43, 15, 0.9, dark=False),
    _box(29, 37, 19, 6),
)  # fmt: skip
# a pan over three flames
_HEAT = (
    _box(1, 8, 32, 4),
    Shape(((3, 12), (31, 12), (28, 22), (6, 22))),
    Shape(((31, 8), (47, 4), (47, 8), (33, 12))),
    _flame(6, 30, 1.0),
    _flame(17, 26, 1.2),
    _flame(28, 30, 1.0),
)
# a bowl with steam over it
_HOT_DISH = (
    *_steam(13),
    *_steam(25),
    *_steam(37),
    _box(2, 21, 44, 5),
    Shape(((5, 26), (43, 26), (38, 37), (31, 42), (17, 42), (10, 37))),
    _box(14, 42, 20, 4),
)
#: The signs by name, as shapes drawn one over the other.
SIGNS: Mapping[str, tuple[Shape, ...]] = MappingProxyType({
    "cold": _COLD,
    "apart": _APART,
    "heat": _HEAT,
    "hot dish": _HOT_DISH,
})  # fmt: skip
#: The sign beside each statement, by its part in the table of prescribed words.
SIGN_OF_PART: Mapping[str, str] = MappingProxyType({
    "storage": "cold",
    "separation": "apart",
    "cooking": "heat",
    "holding": "hot dish",
})  # fmt: skip
