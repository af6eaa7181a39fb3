"""How a deposit was paid, as a form asks for it beside the sum."""

from __future__ import annotations

from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.shop.payments import DEPOSIT_WAYS
from collop.web.forms import Fields, read_choice

if TYPE_CHECKING:
    from collop.measures import Money

__all__ = ["read_deposit_way"]


def read_deposit_way(fields: Fields, deposit: Money | None) -> str:
    """Return how a deposit was paid; empty where it is not noted.

    Parameters
    ----------
    fields : Fields
        ``way`` of the form, empty where nothing was chosen.
    deposit : Money or None
        The sum of the same form.

    Raises
    ------
    BadValue
        If there is no such way, or a way is chosen and no sum is written.
    """
    if not fields.one("way"):
        return ""
    way = read_choice(fields.one("way"), "Deposit paid by", DEPOSIT_WAYS)
    # a sum that cannot be read has its own fault
    if deposit is None and fields.one("deposit") in {"", "0"}:
        raise BadValue(f"Deposit paid by: {way} is chosen and no sum; write the deposit, or choose"
                       " not noted.")  # fmt: skip
    return way
