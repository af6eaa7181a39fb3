"""What ``serve`` allows: this machine alone, or a network behind passwords and a certificate."""

from __future__ import annotations

import re
import ssl
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from collop.errors import BadValue, StorageTrouble
from collop.hosts import is_this_machine

if TYPE_CHECKING:
    from uvicorn import Config

__all__ = ["Tls", "must_be_allowed", "opened_words", "read_site", "tls_settings"]

#: Files of certificate and key; both None without TLS.
Tls = tuple[str | None, str | None]


def must_be_allowed(host: str, *, is_locked: bool, tls: Tls, without_tls: bool) -> None:
    """Refuse to open a shop to a network in a way that lets others in or listen.

    Parameters
    ----------
    host : str
        Address to listen on.
    is_locked : bool
        Whether somebody has a password.
    tls : (str or None, str or None)
        Files of certificate and key.
    without_tls : bool
        Whether passwords may travel readable; said on purpose.

    Raises
    ------
    BadValue
        What is missing, and how to get it.

    References
    ----------
    .. [1] OWASP ASVS 5.0, 12.1.1 and 3.3.1: TLS, and cookies over it only. The rest (this machine
       alone until there is a password) is the shop's own rule.
    """
    if (tls[0] is None) != (tls[1] is None):
        raise BadValue("--certificate and --key go together: give the file of each.")
    if is_this_machine(host):
        return
    if not is_locked:
        raise BadValue(
            f"Nobody has a password here yet, so {host} would let everybody on the network in: set"
            " the owner's first, at /first-run of a shop served without --host, on the page People"
            " of the demo shop, or with: collop people password NAME."
        )
    if tls[0] is None and not without_tls:
        raise BadValue(
            f"On {host} passwords would travel so that others on the network can read them: give"
            " --certificate and --key (docs/serve.md says how to make them), or --without-tls if"
            " the network is yours alone."
        )


def opened_words(name: str, host: str, port: int, *, has_tls: bool, code: str = "") -> list[str]:
    """Return what the terminal says of what is opened, and the set-up code if there is one.

    Parameters
    ----------
    name : str
        Name of the shop.
    host, port : str, int
        Address it listens on.
    has_tls : bool
        Whether it is served with a certificate.
    code : str
        What the first run asks for; empty once somebody has a password.
    """
    shown = f"[{host}]" if ":" in host and not host.startswith("[") else host
    address = f"http{'s' if has_tls else ''}://{shown}:{port}"
    told = [f"{name} is open on {address}/  (Ctrl-C closes)"]
    if not is_this_machine(host):
        told.append("Everybody on this network can reach the sign-in page, and the board.")
        if not has_tls:
            told.append(
                "Without a certificate passwords and names travel readable: whoever listens on"
                " this network has them, and tablets keep no pages for when the connection fails."
            )
    if code:
        told.append(f"Nobody has a password yet. Go to {address}/first-run; set-up code: {code}")
    return told


def read_site(text: str) -> tuple[str, str]:
    """Return where customers reach the pages, as written, and the host in it; both may be empty.

    Raises
    ------
    BadValue
        If it is no address of http or https, or says more than scheme, host and port.
    """
    site = text.strip().rstrip("/")
    if not site:
        return "", ""
    try:
        parts = urlsplit(site)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        host = ""
    if re.fullmatch(r"[\w.:-]+", host, re.ASCII) and parts.scheme in {"http", "https"}:
        shown = f"[{host}]" if ":" in host else host
        if site.casefold() == f"{parts.scheme}://{shown}" + (f":{port}" if port else ""):
            return site, host
    raise BadValue(
        f"--site: {text!r} is no address customers could open; give one such as"
        " https://shop.example, with a port if need be and nothing behind it.", where="site",
    )  # fmt: skip


def tls_settings(tls: Tls) -> dict[str, Any]:
    """Return the server's settings for TLS 1.2 and later; none if there is no certificate.

    Raises
    ------
    StorageTrouble
        If a file cannot be read, or certificate and key are none or do not fit.
    """
    certificate, key = tls
    if certificate is None or key is None:
        return {}
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key)
    except ssl.SSLError:
        raise StorageTrouble(
            f"{certificate} and {key} are no certificate and its key; docs/serve.md says how to"
            " make them."
        ) from None
    except OSError as error:
        raise StorageTrouble(f"{error.filename or certificate}: {error.strerror}.") from None
    return {"ssl_certfile": certificate, "ssl_keyfile": key, "ssl_context_factory": _at_least_1_2}


def _at_least_1_2(_config: Config, usual: Any) -> ssl.SSLContext:  # noqa: ANN401 -- uvicorn's own
    context: ssl.SSLContext = usual()
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    return context
