"""A server of its own process, as ``collop serve`` makes it, at any address of a shop.

Run by the other files here as ``served.py ADDRESS replan|still``: it tells its port and serves
until it is ended.
"""

from __future__ import annotations

import os
import select
import socket
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from collop.shop import DemoClock, open_shop
from collop.web import create_app
from collop.web.serving import server_for

if TYPE_CHECKING:
    from collections.abc import Iterator

SOURCE = Path(__file__).resolve().parents[2] / "src"
DEADLINE_S = 90


@contextmanager
def served(url: str, *, replan: bool = False) -> Iterator[tuple[int, int]]:
    """Serve a shop while the body runs; yield port and process id.

    Parameters
    ----------
    url : str
        Address of the shop.
    replan : bool
        Whether it plans again by itself, as ``collop serve`` does.
    """
    command = [sys.executable, __file__, url, "replan" if replan else "still"]
    process = subprocess.Popen(  # noqa: S603 -- this file itself
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": str(SOURCE)}
    )
    assert process.stdout is not None
    try:
        if not select.select([process.stdout], [], [], DEADLINE_S)[0]:
            raise SystemExit("the server does not start")
        yield int(process.stdout.readline()), process.pid
    finally:
        process.terminate()
        process.wait(DEADLINE_S)
        process.stdout.close()


def main(url: str, replan: str) -> None:
    """Serve until ended."""
    shop = open_shop(url, DemoClock())
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    listener.listen(512)
    print(listener.getsockname()[1], flush=True)
    app = create_app(shop, replan=replan == "replan", warm=True)
    server_for(app, host="127.0.0.1", port=0).run(sockets=[listener])


if __name__ == "__main__":
    main(*sys.argv[1:])
