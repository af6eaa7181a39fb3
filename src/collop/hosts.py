"""Hosts of a network, by name or in figures."""

from __future__ import annotations

from ipaddress import ip_address

__all__ = ["is_this_machine"]


def is_this_machine(host: str) -> bool:
    """Tell whether an address or name reaches only the machine it is used on.

    Examples
    --------
    >>> is_this_machine("[::1]"), is_this_machine("shop.lan")
    (True, False)
    """
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.casefold() == "localhost"
