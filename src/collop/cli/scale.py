"""The command that reads a scale: ``scale``."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from collop.cli.telling import one_sentence
from collop.errors import BadValue

if TYPE_CHECKING:
    from collop.scale import Port, Reading

__all__ = ["Poster", "scale"]

_TIMEOUT_S = 2.0
# a scale sends tens of reports a second; the page looks three times a second
_POST_EVERY_S = 0.2


@click.command()
@click.argument("source", metavar="DEVICE_OR_RECORDING")
@click.option(
    "--json", "as_json", is_flag=True, help="Print each stable reading as a line of JSON."
)
@click.option("--post", "address", metavar="URL", help="Send the last reading to the shop's pages.")
def scale(source: str, *, as_json: bool, address: str | None) -> None:
    """Read a USB scale, or a recording of one, and print each stable reading; Ctrl-C ends.

    Example: collop scale /dev/hidraw0 --post http://127.0.0.1:8000
    """
    with one_sentence(as_json=as_json):
        from collop.scale import State, open_port

        poster = Poster(address) if address else None
        with open_port(source) as port:
            try:
                _follow(port, poster, as_json=as_json)
            except KeyboardInterrupt:
                return
            if port.last.state is State.UNPLUGGED:
                raise BadValue(port.last.sentence)
        if poster and poster.trouble:
            raise BadValue(poster.trouble)


def _follow(port: Port, poster: Poster | None, *, as_json: bool) -> None:
    """Print what changes and post what is read, until the scale or the recording ends."""
    told = None
    for reading in port:
        if reading != told:
            _tell(reading, as_json=as_json)
            told = reading
        if poster:
            poster.offer(reading)
    if poster and told:
        poster.send(told)


def _tell(reading: Reading, *, as_json: bool) -> None:
    """Print a stable reading, or on standard error the sentence of a trouble."""
    from collop.scale import State, figure_of

    if reading.weight is None:
        if reading.state is not State.UNPLUGGED:  # that one ends the command, with its sentence
            click.echo(reading.sentence, err=True)
        return
    if not reading.stable:
        return
    figure, unit = figure_of(reading.weight), str(reading.weight.unit)
    line = {"weight": figure, "unit": unit, "state": str(reading.state)}
    click.echo(json.dumps(line) if as_json else f"{figure} {unit}")


class Poster:
    """Sends readings to the shop's pages; while they do not answer it says so once and goes on.

    Parameters
    ----------
    address : str
        Where the pages are, e.g. ``http://127.0.0.1:8000``.
    clock : callable
        Seconds that never run back.

    Raises
    ------
    BadValue
        If the address is not one of a page server.
    """

    def __init__(self, address: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.trouble = ""
        self._address = _posting_address(address)
        self._clock = clock
        self._sent: tuple[Reading, float] | None = None

    def offer(self, reading: Reading) -> None:
        """Send a reading, unless the same, or both moving, was sent just before."""
        if self._sent:
            sent, at = self._sent
            is_alike = reading == sent or (reading.state is sent.state and not reading.stable)
            if is_alike and self._clock() - at < _POST_EVERY_S:
                return
        self.send(reading)

    def send(self, reading: Reading) -> None:
        """Send a reading now."""
        trouble = _post(self._address, _fields(reading))
        if trouble and not self.trouble:
            click.echo(trouble, err=True)
        self.trouble = trouble
        self._sent = (reading, self._clock())


def _posting_address(address: str) -> str:
    from urllib.parse import urlsplit

    try:
        parts = urlsplit(address)
        is_page_server = parts.scheme in {"http", "https"} and bool(parts.hostname)
        is_page_server = is_page_server and parts.port != 0 and "@" not in parts.netloc
    except ValueError:
        is_page_server = False
    if not is_page_server or not address.isascii() or parts.path not in {"", "/", "/scale"}:
        raise BadValue(f"{address[:60]!r} is no page server; write it like http://127.0.0.1:8000.")
    return f"{parts.scheme}://{parts.netloc}/scale"


def _fields(reading: Reading) -> dict[str, str]:
    from collop.scale import figure_of

    fields = {"state": str(reading.state)}
    if reading.weight is not None:
        fields |= {"weight": figure_of(reading.weight), "unit": str(reading.weight.unit)}
    return fields


def _post(address: str, fields: dict[str, str]) -> str:
    """Send a form; return one sentence if it was not taken, else nothing."""
    from http.client import HTTPException
    from urllib.error import HTTPError
    from urllib.parse import urlencode
    from urllib.request import HTTPRedirectHandler, ProxyHandler, build_opener

    class NoRedirect(HTTPRedirectHandler):
        def redirect_request(self, *_: object) -> None:
            """Follow nothing: the reading goes where it was sent, or nowhere."""

    # no proxy of the environment stands between the scale and the shop
    opener = build_opener(ProxyHandler({}), NoRedirect())
    try:
        with opener.open(address, urlencode(fields).encode("ascii"), timeout=_TIMEOUT_S):
            return ""
    except HTTPError as error:
        error.close()
        return f"{address} did not take the reading (answer {error.code}); see that it is collop."
    except (OSError, HTTPException):
        return f"{address} does not answer; start collop serve. Reading goes on."
