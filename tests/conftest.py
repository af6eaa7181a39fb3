"""Settings for every test, and the one Chromium of a run."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# the same examples on every machine and run; no test may fail for being slow
settings.register_profile("ci", derandomize=True, deadline=None)
settings.load_profile("ci")


def pytest_addoption(parser):
    """Let the same tests of a shop run on another database."""
    parser.addoption("--on", default="sqlite", choices=["sqlite", "postgresql"],
                     help="database of the shops in tests/shop")  # fmt: skip


CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking",
             "--disable-component-update", "--disable-sync", "--no-first-run"]  # fmt: skip


@pytest.fixture(scope="session")
def chromium():
    """Return the one browser of the run: a second one beside it cannot start."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tools:
        browser = tools.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()
