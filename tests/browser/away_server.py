"""A server in a process of its own that is killed and started again on its port, and a line to it.

The line can be made to lose what the server answered, or to answer in its place.
"""

from __future__ import annotations

import os
import select
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from pathlib import Path

DEADLINE_S = 60
#: In the place of an answer: the line stays open and nothing comes.
SILENCE = bytes(1)


def serve(path, port):
    """Serve a shop with a clock that stands, until killed."""
    import uvicorn

    from collop.shop import StillClock, open_shop
    from collop.web import create_app

    shop = open_shop(f"sqlite:///{path}", StillClock())
    listener = socket.socket()
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind(("127.0.0.1", int(port)))
    config = uvicorn.Config(create_app(shop), log_level="warning", ws="none", lifespan="off")
    uvicorn.Server(config).run(sockets=[listener])


def free_port():
    """Return a port nobody uses now."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class AwayServer:
    """The server, and its going away.

    Parameters
    ----------
    path : Path
        File of the shop.
    """

    def __init__(self, path):
        self.path, self.port = path, free_port()
        self.base = f"http://localhost:{self.port}"
        self.process = None

    def start(self):
        """Start it, and wait until it answers."""
        source = str(Path(__file__).parents[2] / "src")
        self.process = subprocess.Popen(
            [sys.executable, __file__, str(self.path), str(self.port)],
            env=os.environ | {"PYTHONPATH": source},
        )
        until = time.monotonic() + DEADLINE_S
        while not self._answers():
            assert self.process.poll() is None, "the server ended while starting"
            assert time.monotonic() < until, "the server did not start in time"
            time.sleep(0.05)

    def _answers(self):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/sw.js", timeout=5) as answer:
                return answer.status == 200
        except OSError:
            return False

    def kill(self):
        """Kill it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(DEADLINE_S)


class Line:
    """A line between browser and server.

    Parameters
    ----------
    to : int
        Port of the server.

    Attributes
    ----------
    loses : bytes
        Requests that begin so reach the server, and their answers are lost; `lost` counts them.
    instead : dict of bytes to bytes
        Requests that begin so never reach it, and are answered with this.
    seen : list of str
        First line of each request.
    """

    def __init__(self, to):
        self.to, self.loses, self.lost = to, b"", 0
        self.instead, self.seen = {}, []
        self.listener = socket.socket()
        self.listener.bind(("127.0.0.1", 0))
        self.listener.listen(64)
        self.base = f"http://localhost:{self.listener.getsockname()[1]}"
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        while True:
            try:
                caller, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(caller,), daemon=True).start()

    def _carry(self, caller):
        try:
            with caller, socket.create_connection(("127.0.0.1", self.to), DEADLINE_S) as server:
                self._between(caller, server)
        except OSError:
            return

    def _between(self, caller, server):
        """Carry bytes both ways until one of them ends, or an answer is lost."""
        loses = False
        while ready := select.select([caller, server], [], [], DEADLINE_S)[0]:
            if caller in ready:
                data = caller.recv(65536)
                if not data or self._is_answered(caller, data):
                    return
                loses = loses or bool(self.loses and data.startswith(self.loses))
                server.sendall(data)
            if server in ready:
                data = server.recv(65536)
                if loses or not data:
                    self.lost += loses
                    return
                caller.sendall(data)

    def _is_answered(self, caller, data):
        """Note a request; tell whether the line itself answered it."""
        if data.startswith((b"GET ", b"POST ")):
            self.seen.append(data.partition(b" HTTP/")[0].decode())
        said = next((self.instead[one] for one in self.instead if data.startswith(one)), None)
        if said is SILENCE:
            time.sleep(DEADLINE_S)
        elif said is not None:
            caller.sendall(said)
        return said is not None

    def close(self):
        """Take the line down."""
        self.listener.close()


if __name__ == "__main__":
    serve(*sys.argv[1:])
