"""One demo shop is made for the session; each test gets a copy with a clock that stands still.

``pytest --on postgresql tests/shop`` runs the same tests on a real PostgreSQL server of their own;
those that are of the file itself are left out there.
"""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from by_hand import database_of

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


@pytest.fixture(scope="session", autouse=True)
def _no_file_counts_as_a_server(database):
    """On PostgreSQL whatever opens a file all the same is left out, and not told as passed."""
    if database is None:
        yield
        return

    def refused(*_words, **_more):
        pytest.skip("of the file itself")

    with pytest.MonkeyPatch.context() as patch:
        for module in (sqlite3, sqlite3.dbapi2):
            patch.setattr(module, "connect", refused)
        yield


class Files:
    """Shops in files of a folder."""

    def __init__(self, folder):
        self.folder, self.number = folder, 0

    def new(self, name):
        """Return the address of a shop that is not there yet."""
        self.number += 1
        return f"sqlite:///{self.folder}/{name}-{self.number}.db"

    def copy(self, address):
        """Return the address of a copy of a closed shop."""
        copy = self.new("copy")
        shutil.copy(address.removeprefix("sqlite:///"), copy.removeprefix("sqlite:///"))
        return copy

    def drop(self, address):
        """Let a shop go."""
        Path(address.removeprefix("sqlite:///")).unlink(missing_ok=True)


class Databases:
    """Shops on a server, each in a database of its own."""

    def __init__(self, server):
        self.server, self.number = server, 0

    def new(self, name, template="template0"):
        """Return the address of a shop that is not there yet."""
        self.number += 1
        return self.server.database(f"{name}_{self.number}", template) + _SHOP

    def copy(self, address):
        """Return the address of a copy of a closed shop."""
        return self.new("copy", database_of(address))

    def drop(self, address):
        """Let a shop go."""
        self.server.sql(f"DROP DATABASE IF EXISTS {database_of(address)} WITH (FORCE)")


@pytest.fixture(scope="session")
def places(database, tmp_path_factory):
    """Return where shops are made, copied and let go on the engine of this run."""
    return Files(tmp_path_factory.mktemp("places")) if database is None else Databases(database)


@pytest.fixture
def new_url(places):
    """Return a function that gives the address of a shop that is not there yet."""
    made = []

    def new(name="own"):
        made.append(places.new(name))
        return made[-1]

    yield new
    for address in made:
        places.drop(address)


@pytest.fixture(scope="session")
def demos(request, database, places):
    """Return a function that gives the address of the demo shop of a day, made once, to copy."""
    made = {}

    def demo(day):
        if database is None:
            file = request.getfixturevalue("demo_file" if day == "tuesday" else "monday_file")
            return f"sqlite:///{file}"
        if day not in made:
            made[day] = places.new(f"demo_{day}")
            create_shop(made[day], demo=True, day=day).close()
        return made[day]

    return demo


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def shop_file(demo_file, tmp_path):
    return shutil.copy(demo_file, tmp_path / "shop.db")


@pytest.fixture
def url(request, database, places, demos):
    """Return the address of a fresh demo shop."""
    if database is None:
        yield f"sqlite:///{request.getfixturevalue('shop_file')}"
        return
    copy = places.copy(demos("tuesday"))
    yield copy
    places.drop(copy)


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
def monday_url(request, tmp_path, database, places, demos):
    """Return the address of a fresh demo shop on its breaking day."""
    if database is None:
        copy = shutil.copy(request.getfixturevalue("monday_file"), tmp_path / "monday.db")
        yield f"sqlite:///{copy}"
        return
    copy = places.copy(demos("monday"))
    yield copy
    places.drop(copy)


@pytest.fixture
def monday(monday_url):
    """Return the demo's breaking day: all nine pieces hang."""
    with open_shop(monday_url, StillClock(DEMO_MONDAY)) as opened:
        yield opened
        assert opened.check() == []
