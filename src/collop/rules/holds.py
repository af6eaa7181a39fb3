"""How long cooked meat is held at a temperature under the retail food code, by edition.

References
----------
.. [1] 18 AAC 31.232, tables B to D (Food Code 3-401.11). Source id ``AK31232``, rows SF023 and
   SF031 to SF047.
.. [2] Food Code 3-401.11(A)(2), quoted in a state's violation 03C-06-5: 155 degF 17 s, 145 degF
   3 min, 150 degF 1 min, 158 degF at once. Source id ``FL03C``, rows SF024 to SF027.
.. [3] County mobile food form quoting 3-401.11: poultry 165 degF. Source id ``MFFCOOK``, row SF028.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows
from collop.rules.editions import USUAL_EDITION, edition, seconds_in

__all__ = ["Hold", "retail_cook", "roast_hold"]

_COOK = {"whole": "SF023", "ground": "SF024", "poultry": "SF028"}
_ALTERNATIVES = ("SF025", "SF026", "SF027")
_AT_ONCE = "instant"


@dataclass(frozen=True, slots=True)
class Hold:
    """A temperature and how long it is held.

    Parameters
    ----------
    temperature : Temperature
        In the coldest part.
    seconds : int
        Hold [s]; 0 is at once.
    row : PublishedRule
        The published row; `row.is_cited` is false where it is recalled.
    """

    temperature: Temperature
    seconds: int
    row: PublishedRule

    def text(self) -> str:
        """Return it in words, e.g. ``145 °F for 3 min``."""
        heat = f"{self.temperature.in_fahrenheit(0)} °F"
        if self.seconds == 0:
            return f"{heat}, at once"
        minutes, rest = divmod(self.seconds, 60)
        return f"{heat} for {minutes} min" if rest == 0 else f"{heat} for {self.seconds} s"


def _heat(row: PublishedRule) -> Temperature:
    assert row.figure is not None  # every row of cooking holds one
    return Temperature.fahrenheit(row.figure)


@cache
def _roasts() -> tuple[PublishedRule, ...]:
    """Return the cited rows of the roast table, hottest first."""
    rows = (row for row in rule_rows("safety", "roast_table", cited_only=True))
    return tuple(sorted(rows, key=_heat, reverse=True))


def roast_hold(core_f: Decimal | str | int, key: str = USUAL_EDITION) -> Hold:
    """Return how long a whole roast is held at a core temperature.

    Parameters
    ----------
    core_f : Decimal, str or int
        Core [degF], 130 or more. Between two rows that of the lower temperature counts; a row
        that is recalled (153 degF) gives no shorter time than the row before it.
    key : str
        The edition; of the oldest, the recalled 121 min rule at 130 degF, as they are longer.

    Raises
    ------
    BadValue
        If it is under 130 degF, or there is no such edition.

    Examples
    --------
    >>> roast_hold(130).text(), roast_hold("144.9").text(), roast_hold(160).text()
    ('130 °F for 112 min', '144 °F for 5 min', '158 °F, at once')
    """
    core, chosen = Temperature.fahrenheit(core_f), edition(key)
    for row in _roasts():
        if core >= _heat(row):
            if row.rule_id == "SF031":
                return Hold(_heat(row), chosen.roast_130_s, chosen.roast_row)
            return Hold(_heat(row), seconds_in(row.when, row.rule_id), row)
    raise BadValue(f"A roast at {core.in_fahrenheit(1).normalize():f} °F is under the least of the "
                   "roast table, 130 °F; cook it on.")  # fmt: skip


def retail_cook(cook_as: str, key: str = USUAL_EDITION) -> tuple[Hold, ...]:
    """Return what the retail code asks of a kind of meat, the usual one first.

    Parameters
    ----------
    cook_as : str
        ``whole``, ``ground`` (also injected and tenderised) or ``poultry`` (also stuffed).
    key : str
        The edition.

    Raises
    ------
    BadValue
        If there is no such kind or edition.

    Notes
    -----
    This is for food cooked by the shop. What a customer is told stands in
    `collop.reference.cook_minimum` and is never under it.

    Examples
    --------
    >>> [one.text() for one in retail_cook("ground")][:2]
    ['155 °F for 17 s', '145 °F for 3 min']
    >>> retail_cook("ground", "2013")[0].text(), retail_cook("poultry")[0].text()
    ('155 °F for 15 s', '165 °F, at once')
    """
    if cook_as not in _COOK:
        raise BadValue(f"No rule of cooking is known for {str(cook_as)[:20]!r}; use one of "
                       f"{', '.join(_COOK)}.")  # fmt: skip
    chosen, row = edition(key), rule_row(_COOK[cook_as])
    if cook_as == "whole":
        return (Hold(_heat(row), seconds_in(row.when, row.rule_id), row),)
    if cook_as == "poultry":
        return (Hold(_heat(row), chosen.poultry_s, row),)
    others = (rule_row(one) for one in _ALTERNATIVES)
    return (
        Hold(_heat(row), chosen.ground_s, row),
        *(
            Hold(_heat(one), 0 if one.when == _AT_ONCE else seconds_in(one.when, one.rule_id), one)
            for one in others
        ),
    )
