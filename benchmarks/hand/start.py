"""From a fresh clone to the first page: ``make run`` as a new user runs it.

    .venv/bin/python benchmarks/hand/start.py [--again 3]

The repository is cloned into an empty folder, ``make run`` is started there, and the page ``/ask``
is asked for until it comes. The first figure has everything in it: the environment, the packages,
the demo shop. The others are further starts of the same clone, each from ``make run`` to the page.
"""

from __future__ import annotations

import argparse
import os
import platform
import signal
import socket
import statistics
import subprocess
import tempfile
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST_S = 1200


def free_port() -> int:
    """Return a port that nobody has."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def seconds_to_page(folder: Path) -> tuple[float, int]:
    """Return seconds from ``make run`` to the first page, and the page's bytes."""
    port = free_port()
    begun = time.monotonic()
    made = subprocess.Popen(  # noqa: S603 -- our own Makefile
        ["make", "run", f"PORT={port}"], cwd=folder, start_new_session=True,  # noqa: S607
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        while time.monotonic() - begun < LONGEST_S:
            if made.poll() is not None:
                raise SystemExit(f"make run ended with {made.returncode}")
            try:
                address = f"http://127.0.0.1:{port}/ask"
                with urllib.request.urlopen(address, timeout=5) as answer:
                    return time.monotonic() - begun, len(answer.read())
            except OSError:
                time.sleep(0.1)
        raise SystemExit(f"no page within {LONGEST_S} s")
    finally:
        os.killpg(made.pid, signal.SIGTERM)
        made.wait(30)


def main() -> None:
    """Run it and print the figures."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--again", type=int, default=3)
    told = ask.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "collop"
        subprocess.run(["git", "clone", "-q", ROOT, folder], check=True)  # noqa: S603, S607
        first, size = seconds_to_page(folder)
        print(f"bare clone to first page: {first:.0f} s ({size} bytes of page)", flush=True)
        again = [seconds_to_page(folder)[0] for _ in range(told.again)]
    if again:
        print(f"further starts: median {statistics.median(again):.1f} s of {len(again)}")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"load {os.getloadavg()[0]:.1f}")  # fmt: skip


if __name__ == "__main__":
    main()
