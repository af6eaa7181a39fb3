"""What a shop without inspection of its own may sell: limits of a year, and of one sale.

References
----------
.. [1] USDA FSIS, Retail Exemptions Adjusted Dollar Limitations, notices of 2003 to 2025. Source ids
   ``RET2003`` to ``RET2025`` and ``FR90RET``, rows TR028 to TR052.
.. [2] La. Admin. Code 7:XXXIII-103 (cites 9 CFR 303.1(d)(2)(ii)), normal retail quantities. Source
   id ``LANRQ``, rows TR056 to TR060. Poultry: 9 CFR 381.10(d)(2)(ii), row TR061, from memory, not
   checked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from functools import cache

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows
from collop.reference.sources import FROM_MEMORY
from collop.rules.choosing import NOTHING_CHOSEN, figure, in_force
from collop.rules.choosing_list import settings_list

__all__ = [
    "NormalRetail",
    "RetailLimit",
    "RetailLine",
    "RetailSales",
    "normal_retail",
    "retail_limit",
    "retail_verdict",
]

_MEAT = re.compile(r"calendar (\d{4}): sales of meat products")
_POULTRY = re.compile(r"calendar (\d{4}): poultry products")
_SHARE_ROW = "TR050"
_MOST = Decimal("1e12")
_ANIMAL = {
    "cattle": "TR056", "beef": "TR056", "calves": "TR057", "veal": "TR057", "sheep": "TR058",
    "lamb": "TR058", "mutton": "TR058", "hogget": "TR058", "swine": "TR059", "pork": "TR059",
    "goats": "TR060", "goat": "TR060", "poultry": "TR061", "chicken": "TR061", "turkey": "TR061",
    "duck": "TR061", "goose": "TR061",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class RetailLimit:
    """The most that may be sold to hotels, restaurants and institutions in a year.

    Parameters
    ----------
    year : int
        Calendar year that was asked for.
    meat, poultry : Decimal
        US dollars.
    of_year : int
        Year the figures are of: an earlier one where one of the two is not known.
    rows : tuple of PublishedRule
        Where they stand; none if the shop put them in.
    caution : str
        What must be said with them; empty if nothing.
    """

    year: int
    meat: Decimal
    poultry: Decimal
    of_year: int
    rows: tuple[PublishedRule, ...]
    caution: str


@dataclass(frozen=True, slots=True)
class RetailSales:
    """Sales of a year so far, US dollars.

    Parameters
    ----------
    meat, poultry : Decimal
        Sold to hotels, restaurants and institutions.
    others, total : Decimal
        Products sold to all who are no households, and all products sold.
    """

    meat: Decimal
    poultry: Decimal
    others: Decimal
    total: Decimal

    def __post_init__(self) -> None:
        for name in ("meat", "poultry", "others", "total"):
            value = getattr(self, name)
            if not isinstance(value, Decimal) or not value.is_finite() or not 0 <= value < _MOST:
                raise BadValue(f"Sales, {name}: give an amount of zero or more.", where=name)
        if self.others > self.total:
            raise BadValue("Sales to others than households are more than all sales; check them.",
                           where="others")  # fmt: skip


@dataclass(frozen=True, slots=True)
class RetailLine:
    """One limit and how much of it is used.

    Parameters
    ----------
    what : str
        ``meat``, ``poultry`` or ``share``.
    state : str
        ``within``, ``warn`` (the first warning), ``near`` (the last one) or ``over``.
    used_pct : Decimal
        Percent of the limit, rounded down to 0.1.
    say : str
        One sentence.
    """

    what: str
    state: str
    used_pct: Decimal
    say: str


@cache
def _published() -> dict[int, dict[str, PublishedRule]]:
    found: dict[int, dict[str, PublishedRule]] = {}
    for row in rule_rows("trace", "retail_limit", cited_only=True):
        for kind, pattern in (("meat", _MEAT), ("poultry", _POULTRY)):
            year = pattern.match(row.text)
            if year and row.figure is not None:
                found.setdefault(int(year[1]), {})[kind] = row
    return {year: rows for year, rows in found.items() if len(rows) == 2}


def retail_limit(year: int, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> RetailLimit:
    """Return the limits of a calendar year.

    Parameters
    ----------
    year : int
        From the first published year on.
    chosen : mapping of str to str
        The shop's choices: ``retail_meat_2026`` and the like, from the notice of the year. Those
        of a published year are never replaced.

    Raises
    ------
    BadValue
        If no limit of that year or an earlier one is known.

    Examples
    --------
    >>> found = retail_limit(2025)
    >>> str(found.meat), str(found.poultry), found.caution
    ('103600', '74800', '')
    >>> retail_limit(2026).of_year
    2025
    """
    published = _published()
    if year in published:
        rows = published[year]
        meat, poultry = rows["meat"], rows["poultry"]
        return RetailLimit(year, meat.figure or Decimal(0), poultry.figure or Decimal(0), year,
                           (meat, poultry), "")  # fmt: skip
    names = {kind: f"retail_{kind}_{year}" for kind in ("meat", "poultry")}
    settable = all(name in settings_list() for name in names.values())
    put_in = {kind: in_force(name, chosen) for kind, name in names.items()} if settable else {}
    if put_in and all(put_in.values()):
        said = f"The figures of {year} are the shop's own, from the notice of that year."
        return RetailLimit(
            year, Decimal(put_in["meat"]), Decimal(put_in["poultry"]), year, (), said
        )
    before = [known for known in published if known < year]
    if not before:
        raise BadValue(f"No limit of {str(year)[:10]} is known; the first is that of "
                       f"{min(published)}.", where="year")  # fmt: skip
    known = retail_limit(max(before))
    # the notices only ever raised the figures, so an older one is the stricter guess
    if not settable:
        said = (f"No limit of {year} is known here: that of {known.of_year} is shown. Read the "
                f"notice of {year}.")  # fmt: skip
        return RetailLimit(year, known.meat, known.poultry, known.of_year, known.rows, said)
    open_ = " or ".join(kind for kind, value in put_in.items() if not value)
    said = (f"No limit of {open_} of {year} was put in: that of {known.of_year} is shown. Read the "
            f"notice of {year} and put it in among the rules.")  # fmt: skip
    figures = [Decimal(put_in[kind] or getattr(known, kind)) for kind in put_in]
    kept = tuple(row for row, value in zip(known.rows, put_in.values(), strict=True) if not value)
    return RetailLimit(year, figures[0], figures[1], known.of_year, kept, said)


def _line(
    what: str, sold: Decimal, most: Decimal, told: str, chosen: Mapping[str, str]
) -> RetailLine:
    if most == 0:
        used = Decimal(0) if sold == 0 else Decimal(1000)
    else:
        used = Decimal(int(sold * 1000 / most)) / 10
    first, last = figure("retail_first_pct", chosen), figure("retail_last_pct", chosen)
    state, say = "within", f"{told}, {used} % of the limit."
    if sold > most:
        state, say = "over", f"{told}: over the limit. The exemption ends; ask the inspector."
    elif sold and sold * 100 >= last * most:
        state, say = "near", f"{told}, {used} % of the limit: nearly all of it is used."
    elif sold and sold * 100 >= first * most:
        state, say = "warn", f"{told}, {used} % of the limit."
    return RetailLine(what, state, used, say)


def retail_verdict(
    sales: RetailSales, year: int, chosen: Mapping[str, str] = NOTHING_CHOSEN
) -> tuple[RetailLine, ...]:
    """Return how near the year's sales are to each limit; the first one passed ends the exemption.

    Parameters
    ----------
    sales : RetailSales
        So far in the year.
    year : int
        Calendar year.
    chosen : mapping of str to str
        The shop's choices.

    Examples
    --------
    >>> some = RetailSales(Decimal("103600.01"), Decimal(0), Decimal("103600.01"), Decimal(900000))
    >>> [line.state for line in retail_verdict(some, 2025)]
    ['over', 'within', 'within']
    """
    limit = retail_limit(year, chosen)
    share = rule_row(_SHARE_ROW).figure
    assert share is not None  # the row holds the percent
    part = Decimal(0) if sales.total == 0 else sales.others * 100 / sales.total
    most = sales.total * share / 100
    shown = part.quantize(Decimal("0.1"), ROUND_UP)  # never 25.0 where it is over
    to = "to hotels, restaurants and institutions"
    return (
        _line("meat", sales.meat, limit.meat, f"Meat {to}: {sales.meat:,.2f} of "
              f"{limit.meat:,.0f} USD", chosen),
        _line("poultry", sales.poultry, limit.poultry, f"Poultry {to}: {sales.poultry:,.2f} of "
              f"{limit.poultry:,.0f} USD", chosen),
        _line("share", sales.others, most, f"To others than households: {shown} % of all product "
              f"sales, of at most {share} %", chosen),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class NormalRetail:
    """Whether one sale is of a quantity normal for a household.

    Parameters
    ----------
    limit : Weight
        The most of one sale to one customer.
    is_over : bool
        Whether the sale is more.
    say : str
        One sentence; empty if it is not.
    row : PublishedRule
        The published row; `row.is_cited` is false where it is recalled.
    """

    limit: Weight
    is_over: bool
    say: str
    row: PublishedRule


def normal_retail(species: str, weight: Weight) -> NormalRetail | None:
    """Return whether a sale to one customer passes the normal retail quantity.

    Parameters
    ----------
    species : str
        Of the meat, e.g. ``beef`` or ``cattle``.
    weight : Weight
        Sold to one customer at once.

    Returns
    -------
    NormalRetail or None
        None for a species without a published figure, such as venison.

    Examples
    --------
    >>> normal_retail("beef", Weight.of("310", WeightUnit.LB)).is_over
    True
    >>> normal_retail("lamb", Weight.of("27.5", WeightUnit.LB)).is_over
    False
    """
    rule_id = _ANIMAL.get(species.strip().casefold())
    if rule_id is None:
        return None
    row = rule_row(rule_id)
    assert row.figure is not None  # every row of this topic that is used holds one
    limit = Weight.of(row.figure, WeightUnit.LB)
    over = weight > limit
    memory = "" if row.is_cited else f" ({FROM_MEMORY})"
    say = ""
    if over:
        say = (
            f"{weight.text(WeightUnit.LB, 2)} to one customer is over the {row.value} lb that "
            f"count as a normal retail quantity of {row.text}{memory}. Sides for a household's "
            "freezer may be outside this; ask the inspector."
        )
    return NormalRetail(limit, over, say, row)
