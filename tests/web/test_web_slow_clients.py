"""Clients that are slow, endless or too many, against a real server on loopback.

RFC 9110 names the two refusals: 15.5.9 (408 Request Timeout), 15.5.14 (413 Content Too Large).
"""

from __future__ import annotations

import http.client
import socket
import threading
import time
from contextlib import closing, contextmanager, suppress

import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from collop.web.bodies import MOST_BYTES, WholeBodies
from collop.web.serving import PatientProtocol, server_for

DEADLINE_S = 30


async def told(request: Request) -> PlainTextResponse:
    """Answer with the number of bytes that came."""
    return PlainTextResponse(str(len(await request.body())))


async def much(request: Request) -> PlainTextResponse:
    """Answer with more than the system's buffers hold."""
    return PlainTextResponse("x" * 40_000_000)


def application(longest_wait_s=20.0):
    """Return an application that only counts bytes, behind the middleware."""
    routes = [Route("/told", told, methods=["GET", "POST"]), Route("/much", much)]
    return WholeBodies(Starlette(routes=routes), longest_wait_s)


@contextmanager
def serving(app, **patience):
    """Run the shop's own server, with other figures of patience, and yield its port."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = server_for(app, host="127.0.0.1", port=0, lifespan="off", timeout_graceful_shutdown=1)
    server.config.http = type("Impatient", (PatientProtocol,), patience)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    until = time.monotonic() + DEADLINE_S
    while not server.started and time.monotonic() < until:
        time.sleep(0.01)
    try:
        yield listener.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(DEADLINE_S)
        listener.close()


def reach(port):
    """Open one connection."""
    found = socket.create_connection(("127.0.0.1", port), timeout=DEADLINE_S)
    found.settimeout(DEADLINE_S)
    return found


def answered(port):
    """Tell whether an ordinary request is answered."""
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=DEADLINE_S)) as line:
        line.request("POST", "/told", body=b"abc")
        return line.getresponse().read() == b"3"


def is_closed(line):
    """Tell whether the server has let go of a connection; wait for it."""
    try:
        return line.recv(1) == b""
    except ConnectionResetError:
        return True


def test_a_hundred_that_say_nothing_are_let_go_and_the_counter_goes_on():
    """Connections with half a header are closed; an ordinary request is answered meanwhile."""
    with serving(application(), HEADERS_S=1.0) as port:
        slow = [reach(port) for _ in range(100)]
        for line in slow:
            line.sendall(b"POST /told HTTP/1.1\r\nHost: shop\r\nX-Slow:")
        assert answered(port)
        assert all(is_closed(line) for line in slow)
        for line in slow:
            line.close()
        assert answered(port)


def test_a_header_that_trickles_has_one_limit_for_all_of_it():
    """A byte now and then does not begin the wait anew."""
    with serving(application(), HEADERS_S=0.6) as port, closing(reach(port)) as line:
        line.sendall(b"GET /told HTTP/1.1\r\n")
        sent = 0
        with suppress(OSError):
            while sent < 100:
                line.sendall(b"X: y\r\n")
                time.sleep(0.05)
                sent += 1
        assert sent < 100


def test_a_form_that_does_not_come_is_refused_in_words():
    """408 with a sentence, and the connection is closed."""
    with serving(application(longest_wait_s=0.3)) as port, closing(reach(port)) as line:
        line.sendall(b"POST /told HTTP/1.1\r\nHost: shop\r\nContent-Length: 10\r\n\r\nabc")
        said = line.makefile("rb").read()
        assert said.startswith(b"HTTP/1.1 408 ")
        assert said.endswith(b"nothing was done. Send it again.")
        assert answered(port)


def test_an_answer_that_nobody_reads_is_given_up():
    """A client that stops reading a large answer is let go after its time."""
    with serving(application(), READER_S=0.3) as port, closing(reach(port)) as line:
        line.sendall(b"GET /much HTTP/1.1\r\nHost: shop\r\n\r\n")
        time.sleep(1.5)
        got = 0
        with suppress(ConnectionResetError):
            while piece := line.recv(1 << 20):
                got += len(piece)
        assert got < 40_000_000
        assert answered(port)


def test_work_that_takes_long_is_not_taken_for_a_slow_reader():
    """An answer that is worked out for longer than a reader's limit still comes."""

    async def slow(request: Request) -> PlainTextResponse:
        import asyncio

        await asyncio.sleep(1.6)
        return PlainTextResponse("done")

    app = WholeBodies(Starlette(routes=[Route("/told", slow)]))
    patience = {"READER_S": 0.1, "HEADERS_S": 0.8}
    with serving(app, **patience) as port, closing(reach(port)) as line:
        line.sendall(b"GET /told HTTP/1.1\r\nHost: shop\r\nConnection: close\r\n\r\n")
        assert line.makefile("rb").read().endswith(b"done")


@pytest.mark.parametrize("told_length", [True, False])
def test_a_form_without_end_is_cut_off(told_length):
    """413 whether its length was told beforehand or not (chunked)."""
    with serving(application()) as port, closing(reach(port)) as line:
        head = b"POST /told HTTP/1.1\r\nHost: shop\r\n"
        if told_length:
            line.sendall(head + f"Content-Length: {MOST_BYTES + 1}\r\n\r\n".encode())
        else:
            line.sendall(head + b"Transfer-Encoding: chunked\r\n\r\n")
            chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
            for _ in range(5):
                line.sendall(chunk)
        said = line.recv(4096)
        assert said.startswith(b"HTTP/1.1 413 ")


def test_a_form_in_chunks_that_fits_is_read_whole():
    """Parts add up; nothing is asked of the client but an end."""
    with serving(application()) as port, closing(reach(port)) as line:
        line.sendall(b"POST /told HTTP/1.1\r\nHost: shop\r\nTransfer-Encoding: chunked\r\n"
                     b"Connection: close\r\n\r\n3\r\nabc\r\n4\r\ndefg\r\n0\r\n\r\n")  # fmt: skip
        assert line.makefile("rb").read().endswith(b"7")


def test_headers_larger_than_any_browser_sends_are_refused():
    """A header that never ends takes no more than its share of memory."""
    with serving(application()) as port, closing(reach(port)) as line:
        line.sendall(b"GET /told HTTP/1.1\r\nX: " + b"y" * 64_000)
        assert line.makefile("rb").read().startswith(b"HTTP/1.1 400 ")
        assert answered(port)


def test_one_address_gets_its_share_of_connections_only(monkeypatch):
    """Of a hundred connections of one foreign machine the first few stay; others are served."""
    monkeypatch.setattr(PatientProtocol, "_is_foreign", lambda self: self.foreign)
    with serving(application(), MOST_FROM_ONE=5, foreign=True) as port:
        lines = [reach(port) for _ in range(20)]
        for line in lines[5:]:
            assert is_closed(line)
        lines[0].sendall(b"GET /told HTTP/1.1\r\nHost: shop\r\n\r\n")
        assert lines[0].recv(100).startswith(b"HTTP/1.1 200 ")
        for line in lines:
            line.close()
    assert not PatientProtocol._open


def test_a_machine_s_own_connections_are_not_counted_out():
    """The till's own browser may open as many as it likes."""
    with serving(application(), MOST_FROM_ONE=1) as port:
        lines = [reach(port) for _ in range(10)]
        assert answered(port)
        for line in lines:
            line.close()


def test_the_server_tells_no_one_what_it_is():
    """No header names a program or its version."""
    with serving(application()) as port, closing(reach(port)) as line:
        line.sendall(b"GET /told HTTP/1.1\r\nHost: shop\r\nConnection: close\r\n\r\n")
        assert b"server:" not in line.makefile("rb").read().lower()


def test_it_is_the_server_that_serves():
    """The command's server is the one tested here."""
    config = server_for(application(), host="127.0.0.1", port=0).config
    assert isinstance(config, uvicorn.Config)
    assert config.http is PatientProtocol
