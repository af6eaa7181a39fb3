"""Whether a lot of packages holds what its labels say: ``collop.netweight/1`` to its plan.

References
----------
.. [1] NIST Handbook 133, Checking the Net Contents of Packaged Goods, chapters 1 and 2. The tables
   are from memory but for one allowance, and the plan says so of each row.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from collop.reference.rulebook import PublishedRule
from collop.reference.sources import FROM_MEMORY
from collop.rules.netweight_judging import Judged, judge, root
from collop.rules.netweight_reading import CheckedLot, division_text, read_lot
from collop.rules.netweight_saying import plain, say
from collop.rules.netweight_tables import check_rules, recomputed_factor

__all__ = ["netweight"]

#: A scale for checking has no step over a sixth of the allowance, and so many steps at the least.
_SHARE_OF_ALLOWANCE = Fraction(1, 6)
_LEAST_DIVISIONS = 100
_LARGEST_POWER, _SMALLEST_POWER = 5, -9


def netweight(problem: object) -> dict[str, Any]:
    """Judge a lot of packages by the published sampling plan and allowances.

    Parameters
    ----------
    problem : object
        Parsed JSON of the ``collop.netweight/1`` contract; see ``docs/netweight.md``.

    Returns
    -------
    dict
        The ``collop.netweight.plan/1`` object.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    lot = read_lot(problem)
    judged = judge(lot)
    scale = _scale(lot)
    anew = None if judged.factor is None else recomputed_factor(lot.sample)
    return {
        "schema": "collop.netweight.plan/1",
        "name": lot.name,
        "unit": lot.unit.value,
        "category": lot.category,
        "product": lot.product,
        "kind": "random" if lot.is_random else "standard",
        "lot_size": lot.size,
        "sample_size": lot.sample,
        "checked": len(lot.packages),
        "packages": [_package(lot, judged, index) for index in range(len(lot.packages))],
        "mean_error": plain(judged.mean),
        "s": None if judged.variance is None else plain(root(judged.variance)),
        "scf": None if judged.factor is None else str(lot.plan.factor),
        "scf_recomputed": None if anew is None else str(anew),
        "sel": None if judged.factor is None else plain(judged.limit()),
        "average": judged.average,
        "beyond": {"count": len(judged.beyond), "allowed": judged.over_allowed},
        "scale": scale,
        "verdict": judged.verdict,
        "say": say(lot, judged),
        "rules": [_rule(row) for row in _rows(lot)],
        "cautions": list(_cautions(lot, judged, scale)),
        "assumptions": list(_assumptions(lot)),
    }


def _package(lot: CheckedLot, judged: Judged, index: int) -> dict[str, Any]:
    package = lot.packages[index]
    found = "short" if package.error < 0 else "full"
    return {
        "name": package.name,
        "label": plain(package.label),
        "net": plain(package.net),
        "error": plain(package.error),
        "allowance": plain(package.allowance.amount),
        "rule": package.allowance.row.rule_id,
        "found": "beyond" if index in judged.beyond else found,
    }


def largest_division(most: Fraction) -> Fraction:
    """Return the largest division a scale may have that is not over `most`.

    Parameters
    ----------
    most : Fraction
        Above zero, in the unit of the scale.
    """
    powers = range(_LARGEST_POWER, _SMALLEST_POWER - 1, -1)
    steps = (Fraction(one) * Fraction(10) ** power for power in powers for one in (5, 2, 1))
    return next((step for step in steps if step <= most), Fraction(10) ** _SMALLEST_POWER)


def _scale(lot: CheckedLot) -> dict[str, Any]:
    """Return the finest step that is needed, and whether the scale has it; None: not known."""
    least = min(package.allowance.amount for package in lot.packages)
    needed = largest_division(least * _SHARE_OF_ALLOWANCE)
    fits: bool | None = None
    if lot.division is not None:
        fits = lot.division <= least * _SHARE_OF_ALLOWANCE
        if fits and lot.capacity is not None:
            fits = lot.capacity / lot.division >= _LEAST_DIVISIONS
    return {
        "division": None if lot.division is None else division_text(lot.division),
        "sixth_of_allowance": plain(least * _SHARE_OF_ALLOWANCE),
        "largest_division": division_text(needed),
        "fits": fits,
    }


def _rows(lot: CheckedLot) -> list[PublishedRule]:
    """Return every row the verdict stands on, each once, in the order of the table."""
    rows = {row.rule_id: row for row in (lot.plan.row, *check_rules(lot.category))}
    for package in lot.packages:
        rows.setdefault(package.allowance.row.rule_id, package.allowance.row)
    return [rows[name] for name in sorted(rows)]


def _rule(row: PublishedRule) -> dict[str, Any]:
    words = " ".join(part for part in (row.value, row.unit) if part)
    return {
        "id": row.rule_id,
        "text": f"{row.text}: {words}",
        "source": row.source.text(),
        "status": row.status.value,
    }


def _cautions(lot: CheckedLot, judged: Judged, scale: dict[str, Any]) -> Iterator[str]:
    unit = lot.unit.value
    if scale["fits"] is False:
        yield (
            f"This scale is too coarse for the check: steps of {scale['largest_division']} {unit} "
            f"or finer are needed, and {_LEAST_DIVISIONS} steps at the least. Weigh the packages "
            "on a finer one before the verdict is trusted."
        )
    if scale["fits"] is None:
        yield (
            f"The step of the scale was not given; it may be {scale['largest_division']} {unit} "
            "at the most."
        )
    if judged.average_by_recomputed != judged.average:
        yield (
            "With the factor worked out anew from Student's t the average would be judged the "
            "other way: look at the table of the present edition."
        )
    heavy = next((one.name for one in lot.packages if 10 * one.error > one.label), None)
    if heavy is not None:
        yield f"Package {heavy} is over a tenth too heavy: was its packaging taken off here?"
    for one in lot.packages:
        if one.gross is not None and one.gross <= one.label:
            yield (
                f"Package {one.name} weighs with its packaging no more than its label says: its "
                "tare was not taken off when it was labelled."
            )


def _assumptions(lot: CheckedLot) -> Iterator[str]:
    memory = sum(not row.is_cited for row in _rows(lot))
    yield (
        f"The sampling plan and allowances are {FROM_MEMORY} ({memory} of the {len(_rows(lot))} "
        "rows used): look at the present edition, and ask your sealer, before relying on them."
    )
    if lot.category == "A":
        yield "Category A: packages put up and sold in the shop. Ask your sealer if it is that."
    yield "The tare is that of dry packaging; liquid in the package counts as product."
    yield "The packages were drawn at random from the whole lot."
    if lot.unit.value in ("kg", "g") and lot.category == "A":
        yield "Brackets of labelled weight are those of the pound column; allowances are in grams."
