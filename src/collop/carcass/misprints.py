"""Published figures that contradict themselves, each computed against what was printed.

None of them is used for anything; they stand here so that nobody believes them again. The printed
figures that no table row can hold are quoted from the notes of the rows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from collop.carcass.published import SumCheck, closes
from collop.carcass.standing import Basis
from collop.reference import RuleRow, carcass_rules, chicken_parts, cut_style_rows, yield_rows

__all__ = ["published_misprints"]

_WHOLE, _EXACT = Fraction(1, 2), Fraction(0)
_NOT_CLOSING = (
    "PORK_250_180_HOGCHOPS",
    "PORK_PRIMALS_KSU",
    "LAMB_AU_PRIMALS",
    "BEEF_1300_806",
)


def _example(source_id: str, words: str) -> RuleRow:
    (row,) = carcass_rules("worked_example_live_to_take_home", source_id=source_id, words=words)
    return row


def _indiana() -> SumCheck:
    """Return the column of shares with the 6 % that the page prints for the chuck."""
    rows = yield_rows("BEEF_PRIMALS_IN590")
    shares = {row.primal: Fraction(row.primal_pct.low) for row in rows if row.primal_pct}
    shares["chuck (shoulder)"] = Fraction(6)
    (chuck,) = (row for row in rows if row.primal == "chuck (shoulder)")
    return SumCheck("Indiana shares with chuck 6", "%", Fraction(100),
                    sum(shares.values(), Fraction(0)), _EXACT, Basis.of(chuck))  # fmt: skip


def _thousand_pounds() -> SumCheck:
    """Return 1000 lb with the printed 450 lb on the rail, less shrink and cutting loss."""
    row = _example("ATM1100", "live 1000")
    return SumCheck("1000 lb, rail 45 %", "lb take-home", Fraction(row.value),
                    Fraction(450 - 22 - 147), _WHOLE, Basis.of(row))  # fmt: skip


def _seven_fifty() -> SumCheck:
    """Return 185 lb of mince in 490 lb, printed as 39 %."""
    row = _example("LOCKER1200", "carcass 750")
    return SumCheck("750-lb carcass, mince of take-home", "%", Fraction(39),
                    Fraction(185 * 100, 490), _WHOLE, Basis.of(row))  # fmt: skip


def _slides() -> Iterator[SumCheck]:
    """Yield the printed shares of the lamb slides against their own pounds of a 60-lb carcass."""
    printed = {"shoulder": 36, "breast": 17, "rack": 8}
    for name, share in printed.items():
        row = yield_rows("LAMB_120_60", primal=name)[0]
        assert row.primal_lb is not None
        found = Fraction(row.primal_lb.low) * 100 / 60
        yield SumCheck(f"lamb slides, {name}", "%", Fraction(share), found, _WHOLE, Basis.of(row))


def _steaks_and_ground() -> SumCheck:
    """Return 396 of 639 lb in steaks and roasts against the 59 % of the other source."""
    row = _example("BXCH", "live 1300")
    return SumCheck("806-lb carcass, steaks and roasts of take-home", "%", Fraction(59),
                    Fraction(396 * 100, 639), _WHOLE, Basis.of(row))  # fmt: skip


def _variety_meats() -> SumCheck:
    """Return the retail lines of the 715-lb table with the 27 lb that its text adds."""
    rows = [row for row in yield_rows("BEEF_1150_715") if row.kind in {"cut", "trim"}]
    retail = sum((Fraction(row.lb) for row in rows if row.lb is not None), Fraction(0))
    return SumCheck("715-lb table with 27 lb of variety meats", "lb", Fraction(569), retail + 27,
                    _WHOLE, Basis.of(_example("BB715", "live 1150")))  # fmt: skip


def _ten_birds() -> SumCheck:
    """Return the printed shares of the ten-bird study."""
    rows = chicken_parts("CHICKEN_HALF_1998", kind="part")
    return SumCheck("ten-bird study, printed shares", "%", Fraction(100),
                    Fraction(41 + 17 + 31 + 12), _EXACT, Basis.of(rows[0]))  # fmt: skip


def _uneven_steps() -> SumCheck:
    """Return the step between grades 3 and 4 against the published 4.6 points a grade."""
    name = "pct_closely_trimmed_mostly_boneless_ndsu"
    third, fourth = (carcass_rules(name, words=f"yield grade {g}")[0] for g in (3, 4))
    (step,) = carcass_rules("retail_difference_per_yield_grade", species="beef")
    return SumCheck("North Dakota, grade 3 less grade 4", "points", Fraction(step.value),
                    Fraction(third.value) - Fraction(fourth.value), Fraction(1, 20),
                    Basis.of(third))  # fmt: skip


def _pork_loin_split() -> SumCheck:
    """Return the rounded shares of the published pork loin split."""
    rows = [row for row in cut_style_rows("P-LOIN") if row.style.endswith("published split")]
    return SumCheck("pork loin split, rounded shares", "%", Fraction(100),
                    sum((Fraction(row.pct.low) for row in rows), Fraction(0)), _EXACT,
                    Basis.of(rows[0]))  # fmt: skip


def published_misprints() -> tuple[SumCheck, ...]:
    """Return every printed figure that its own source contradicts; none of them closes.

    Examples
    --------
    >>> [(one.what, int(one.found)) for one in published_misprints()][:2]
    [('Indiana shares with chuck 6', 80), ('1000 lb, rail 45 %', 281)]
    """
    tables = (
        replace(check, what=f"{table_id}, {check.what}")
        for table_id in _NOT_CLOSING
        for check in closes(table_id).failing
    )
    return (
        _indiana(),
        _thousand_pounds(),
        _seven_fifty(),
        *_slides(),
        _steaks_and_ground(),
        _variety_meats(),
        _ten_birds(),
        _uneven_steps(),
        _pork_loin_split(),
        *tables,
    )
