"""What a slip comes to with tax, and in cash."""

from __future__ import annotations

from dataclasses import dataclass

from collop.measures import Money
from collop.rules.taxing import Cash, ClassTax

__all__ = ["SlipTotals"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipTotals:
    """Tax of a slip and what is to pay, as it was charged.

    Parameters
    ----------
    before : Money
        Sum of the lines.
    taxes : tuple of ClassTax
        Tax by class; empty where no line bears any.
    tax, total : Money
        Sum of the taxes; lines and taxes.
    due : Money
        Total less the deposit; below zero is given back.
    cash_rule : str
        One of `collop.rules.taxing.CASH_RULES`.
    cash : Cash
        What is paid in cash, and the rounding line.
    cautions : tuple of str
        Classes without a rate on that day.
    """

    before: Money
    taxes: tuple[ClassTax, ...]
    tax: Money
    total: Money
    due: Money
    cash_rule: str
    cash: Cash
    cautions: tuple[str, ...] = ()
