"""One demo shop is made for the session; each test gets a copy with a clock that stands still."""

from __future__ import annotations

import shutil

import pytest

from collop.shop import DEMO_MONDAY, StillClock, create_shop, open_shop


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def shop_file(demo_file, tmp_path):
    return shutil.copy(demo_file, tmp_path / "shop.db")


@pytest.fixture
def url(shop_file):
    return f"sqlite:///{shop_file}"


@pytest.fixture
def clock():
    return StillClock()


@pytest.fixture
def shop(url, clock):
    with open_shop(url, clock) as opened:
        yield opened
        assert opened.check() == []


@pytest.fixture(scope="session")
def monday_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("monday") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True, day="monday").close()
    return path


@pytest.fixture
def monday(monday_file, tmp_path):
    """Return the demo's breaking day: all nine pieces hang."""
    copy = shutil.copy(monday_file, tmp_path / "monday.db")
    with open_shop(f"sqlite:///{copy}", StillClock(DEMO_MONDAY)) as opened:
        yield opened
        assert opened.check() == []
