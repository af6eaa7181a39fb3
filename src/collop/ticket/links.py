"""A trade item as a web address (GS1 Digital Link): read and built.

The address is only text here; nothing is looked up.

References
----------
.. [1] Test strings of the GS1 Barcode Syntax Engine: rules BC135 to BC137; that a repeat is
   refused: BC139, from memory, not checked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from urllib.parse import parse_qsl, quote, unquote, urlsplit

from collop.errors import BadValue
from collop.ticket.digits import shown
from collop.ticket.elements_checking import Element, checked
from collop.ticket.elements_reading import LONGEST
from collop.ticket.elements_values import READ_IN

__all__ = ["digital_link", "is_link", "pairs_of_link", "read_link"]

# what may follow a key in the path, in this order; any other identifier is an attribute
_QUALIFIERS: Mapping[str, tuple[str, ...]] = {"01": ("22", "10", "21"), "00": ()}


def is_link(text: object) -> bool:
    """Tell whether `text` is written as a web address."""
    return isinstance(text, str) and text[:8].lower().startswith(("http://", "https://"))


def pairs_of_link(address: str) -> list[tuple[str, str]]:
    """Return identifiers and values of a web address, path first.

    Raises
    ------
    BadValue
        If it is no such address.
    """
    if not is_link(address) or len(address) > LONGEST or re.search(r"[\s\x00-\x1f]", address):
        raise BadValue(f"{shown(address)} is no web address of a trade item; see the code again.")
    try:
        cut = urlsplit(address)
        query = parse_qsl(
            cut.query.replace(";", "&"), keep_blank_values=True, errors="strict", max_num_fields=99
        )
        path = [unquote(step, errors="strict") for step in cut.path.strip("/").split("/")]
    except ValueError:
        raise BadValue(f"{shown(address)} is no web address that can be read.") from None
    if not cut.hostname:
        raise BadValue(f"{shown(address)} names no host; it must look like https://host/01/...")
    # a word such as linkType is for the web and says nothing of the goods
    attributes = [(key, value) for key, value in query if re.fullmatch(r"[0-9]+", key)]
    return _pairs_of_path(path, address) + attributes


def _pairs_of_path(path: Sequence[str], address: str) -> list[tuple[str, str]]:
    """Return key and qualifiers of a path such as shop/01/09520123456788/10/ABC1."""
    start = next((place for place, step in enumerate(path) if step in _QUALIFIERS), None)
    if start is None or (len(path) - start) % 2:
        raise BadValue(
            f"{shown(address)} holds no trade item; its path must look like /01/09520123456788."
        )
    pairs = list(zip(path[start::2], path[start + 1 :: 2], strict=True))
    order = _QUALIFIERS[pairs[0][0]]
    last = -1
    for ai, _ in pairs[1:]:
        if ai not in order or order.index(ai) <= last:
            allowed = ", ".join(f"({one})" for one in order) or "nothing"
            raise BadValue(
                f"({ai[:10]}) may not stand there in the path; behind ({pairs[0][0]}) may come "
                f"{allowed}, in this order."
            )
        last = order.index(ai)
    return pairs


def read_link(address: str, *, read_in: int = READ_IN) -> list[Element]:
    """Return the elements of a web address, path first.

    Raises
    ------
    BadValue
        If it is no such address, or what it holds is wrong.

    Examples
    --------
    >>> read_link("https://example.com/01/09520123456788?3103=000195")[1].decoded
    '0.195 kg'
    """
    return checked(pairs_of_link(address), read_in=read_in)


def digital_link(
    values: Mapping[str, str], domain: str = "https://id.gs1.org", *, read_in: int = READ_IN
) -> str:
    """Return the web address of a trade item.

    Parameters
    ----------
    values : mapping of str to str
        Identifier to value; ``01`` or ``00`` must be there. Lot and serial go into the path, the
        others behind it in the order given.
    domain : str
        Where the address begins: ``https://``, a host, and a path if the shop has one.
    read_in : int
        As in `read_link`.

    Raises
    ------
    BadValue
        If a value is wrong, or there is no key.

    Examples
    --------
    >>> digital_link({"01": "09520123456788", "10": "ABC1"}, "https://example.com")
    'https://example.com/01/09520123456788/10/ABC1'
    """
    key = next((ai for ai in _QUALIFIERS if ai in values), None)
    if key is None:
        raise BadValue("A web address needs a trade item (01) or a logistic unit (00); add one.")
    if not re.fullmatch(r"https?://[A-Za-z0-9.\-]+(:\d{1,5})?(/[A-Za-z0-9._~\-]+)*/?", domain):
        raise BadValue(
            f"{shown(domain)} is no beginning of an address such as https://example.com."
        )
    checked(list(values.items()), read_in=read_in)
    in_path = [key, *(ai for ai in _QUALIFIERS[key] if ai in values)]
    path = "/".join(f"{ai}/{quote(values[ai], safe='')}" for ai in in_path)
    query = "&".join(
        f"{ai}={quote(value, safe='')}" for ai, value in values.items() if ai not in in_path
    )
    return f"{domain.rstrip('/')}/{path}" + (f"?{query}" if query else "")
