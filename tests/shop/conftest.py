"""One demo shop is made for the session; each test gets a copy with a clock that stands still.

``pytest --on postgresql tests/shop`` runs the same tests on a real PostgreSQL server of their own;
those that are of the file itself are left out there.
"""

from __future__ import annotations

import shutil

import pytest

from collop.shop import DEMO_MONDAY, StillClock, create_shop, open_shop
from pg_ground import Server, why_not

_SHOP = "?shop=one&unsafe_sync=1"


@pytest.fixture(scope="session")
def database(request):
    """Return the server, or None on SQLite."""
    if request.config.getoption("--on") == "sqlite":
        yield None
        return
    if why_not():
        pytest.skip(why_not())
    # a fresh database for each test: none of them need outlive the machine
    server = Server(syncs=False)
    yield server
    server.close()


def _only_a_file(database):
    if database is not None:
        pytest.skip("of the file itself")


class Templates:
    """Databases of demo shops, copied for each test that wants one."""

    def __init__(self, server):
        self.server, self.made, self.number = server, set(), 0

    def copy(self, day):
        """Return the address of a fresh demo shop of a day."""
        if day not in self.made:
            create_shop(self.server.database(f"demo_{day}") + _SHOP, demo=True, day=day).close()
            self.made.add(day)
        self.number += 1
        return self.server.database(f"t_{self.number}", f"demo_{day}") + _SHOP

    def drop(self, url):
        """Let a copy go."""
        name = url.rpartition("/")[2].partition("?")[0]
        self.server.sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def templates(database):
    """Return the demo shops that are copied, or None on SQLite."""
    return None if database is None else Templates(database)


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory, database):
    _only_a_file(database)
    path = tmp_path_factory.mktemp("demo") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def shop_file(demo_file, tmp_path):
    return shutil.copy(demo_file, tmp_path / "shop.db")


@pytest.fixture
def url(request, templates):
    """Return the address of a fresh demo shop."""
    if templates is None:
        yield f"sqlite:///{request.getfixturevalue('shop_file')}"
        return
    copy = templates.copy("tuesday")
    yield copy
    templates.drop(copy)


@pytest.fixture
def clock():
    return StillClock()


@pytest.fixture
def shop(url, clock):
    with open_shop(url, clock) as opened:
        yield opened
        assert opened.check() == []


@pytest.fixture(scope="session")
def monday_file(tmp_path_factory, database):
    _only_a_file(database)
    path = tmp_path_factory.mktemp("monday") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True, day="monday").close()
    return path


@pytest.fixture
def monday(request, tmp_path, templates):
    """Return the demo's breaking day: all nine pieces hang."""
    if templates is None:
        copy = f"sqlite:///{shutil.copy(request.getfixturevalue('monday_file'), tmp_path / 'm.db')}"
    else:
        copy = templates.copy("monday")
    with open_shop(copy, StillClock(DEMO_MONDAY)) as opened:
        yield opened
        assert opened.check() == []
    if templates is not None:
        templates.drop(copy)
