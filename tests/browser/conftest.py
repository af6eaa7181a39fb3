"""A real server on a free port over a fresh demo shop, and Chromium to drive it.

Where Chromium is installed these tests always run; where it is not, they say so and are skipped.
"""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import expect

from collop.shop import StillClock, create_shop, open_shop
from collop.web import create_app
from collop.web.keeper import Keeper

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
DEADLINE_S = 60
# a busy machine may take longer than the five seconds the library gives an expectation
expect.set_options(timeout=DEADLINE_S * 500)


def pytest_collection_modifyitems(items):
    """Mark every test of this folder; skip only where there is no Chromium at all."""
    missing = pytest.mark.skip(reason=f"no Chromium at {CHROMIUM}; set CHROMIUM to its path")
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if not Path(CHROMIUM).is_file():
                item.add_marker(missing)


@dataclass
class Counter:
    """A running shop: its address, its clock, and the shop behind it."""

    base: str
    shop: object
    clock: StillClock
    server: uvicorn.Server
    thread: threading.Thread = field(repr=False)

    def stop(self):
        """Stop answering, as when the counter machine is switched off."""
        self.server.should_exit = True
        self.thread.join(DEADLINE_S)


def start_counter(path):
    clock = StillClock()
    shop = open_shop(f"sqlite:///{path}", clock)
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    app = create_app(shop, keeper=Keeper(Path(path)))
    config = uvicorn.Config(app, log_level="warning", ws="none", lifespan="off",
                            timeout_graceful_shutdown=2)  # fmt: skip
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    until = time.monotonic() + DEADLINE_S
    while not server.started:
        assert thread.is_alive(), "the server ended while starting"
        assert time.monotonic() < until, "the server did not start in time"
        time.sleep(0.02)
    base = f"http://localhost:{listener.getsockname()[1]}"
    return Counter(base, shop, clock, server, thread)


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    return path


@pytest.fixture(scope="session")
def counter_at():
    """Return a function that runs a counter over the shop in a file; whoever calls it stops it."""
    return start_counter


@pytest.fixture
def counter(demo_file, tmp_path):
    """Return a fresh counter for tests that book."""
    path = tmp_path / "shop.db"
    shutil.copy(demo_file, path)
    running = start_counter(path)
    yield running
    running.stop()
    running.shop.close()


@pytest.fixture(scope="module")
def still_counter(demo_file, tmp_path_factory):
    """Return one counter for tests that only look."""
    path = tmp_path_factory.mktemp("still") / "shop.db"
    shutil.copy(demo_file, path)
    running = start_counter(path)
    yield running
    running.stop()
    running.shop.close()


@pytest.fixture
def open_page(chromium):
    """Return a function that opens a page in a context of its own; errors on it fail the test."""
    contexts, errors = [], []

    def opened(*, width=1180, height=820, **options):
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        context.set_default_timeout(DEADLINE_S * 1000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda said: errors.append(said.text) if is_fault(said) else None)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert errors == []


def is_fault(said):
    """Tell whether a console line is a fault of the page; a 4xx or lost request is not."""
    return said.type == "error" and "Failed to " not in said.text
