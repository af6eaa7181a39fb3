"""A reader who leaves ends the work that was done for them, and no work that writes."""

from __future__ import annotations

import threading
from contextlib import closing

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from test_web_slow_clients import DEADLINE_S, answered, reach, serving

from collop.errors import BadValue
from collop.solver import Stopped, new_solver
from collop.web.bodies import WholeBodies
from collop.web.stopping import StopWithReader, may_stop

PATHS = ("/bench/plan", "/ask/spread", "/sell", "/told")


class Work:
    """Work of many programs, as a kernel does it: begun, and how it ended."""

    def __init__(self):
        self.begun, self.left, self.over = threading.Event(), threading.Event(), threading.Event()
        self.ended = ""

    def run(self, _request: Request) -> PlainTextResponse:
        """Run programs until the reader has left and some more are run, or it is stopped."""
        self.begun.set()
        try:
            assert self.left.wait(DEADLINE_S)
            for _ in range(2000):
                new_solver(1e-7, {}).run()
            self.ended = "done"
        except Stopped:
            self.ended = "stopped"
            raise BadValue("nobody reads this") from None
        finally:
            self.over.set()
        return PlainTextResponse("done")


def application(work):
    """Return an application with one long piece of work, behind both middlewares."""

    async def told(request: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await request.body())))

    async def refused(_request: Request, error: Exception) -> PlainTextResponse:
        return PlainTextResponse(str(error), 409)

    routes = [Route(path, work.run, methods=["GET", "POST"]) for path in PATHS[:-1]]
    routes.append(Route("/told", told, methods=["POST"]))
    inside = Starlette(routes=routes, exception_handlers={BadValue: refused})
    return WholeBodies(StopWithReader(inside))


@pytest.mark.parametrize(
    ("method", "path", "ended"),
    [("GET", "/bench/plan", "stopped"), ("POST", "/bench/plan", "stopped"),
     ("POST", "/ask/spread", "stopped"), ("POST", "/sell", "done")],
)  # fmt: skip
def test_work_ends_with_its_reader_unless_it_writes(method, path, ended):
    """The line is closed while it is worked: the next program is not run; a sale goes on."""
    work = Work()
    with serving(application(work)) as port:
        with closing(reach(port)) as line:
            line.sendall(f"{method} {path} HTTP/1.1\r\nHost: shop\r\nContent-Length: 3\r\n\r\nabc"
                         .encode())  # fmt: skip
            assert work.begun.wait(DEADLINE_S)
        # another request, answered after the first line was closed: the server has heard of it
        assert answered(port)
        work.left.set()
        assert work.over.wait(DEADLINE_S)
        assert work.ended == ended
        assert answered(port)


def test_who_waits_is_answered():
    """Nothing is stopped for a reader who stays; a form comes whole."""
    work = Work()
    work.left.set()
    with serving(application(work)) as port, closing(reach(port)) as line:
        line.sendall(b"GET /bench/plan HTTP/1.1\r\nHost: shop\r\nConnection: close\r\n\r\n")
        assert line.recv(65536).startswith(b"HTTP/1.1 200")
        assert work.ended == "done"


def test_only_what_writes_nothing_meanwhile_may_be_stopped():
    """A sale, a booking and a reading of the day book go on to their end."""
    assert may_stop("GET", "/sell")
    assert not any(may_stop("POST", path) for path in ("/sell", "/ask/quote", "/daybook/cold"))
