"""A throw-away PostgreSQL server of these tests' own, that may be killed and started again."""

from __future__ import annotations

import contextlib
import os
import pwd
import shlex
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psycopg
import pytest

from collop.shop import create_shop

_SETTINGS = """
listen_addresses = '127.0.0.1'
max_connections = 200
shared_buffers = 64MB
unix_socket_directories = '{folder}'
port = {port}
"""


def programs() -> Path | None:
    """Return the folder of the server's programs, the newest there is."""
    found = shutil.which("initdb")
    if found:
        return Path(found).parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"),
                     key=lambda path: int(path.parent.parent.name))  # fmt: skip
    return folders[-1].parent if folders else None


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


class Server:
    """One cluster in a temporary folder; it syncs, as a shop does, unless told otherwise."""

    def __init__(self, *, syncs: bool = True) -> None:
        self.bin = programs()
        self.folder = Path(tempfile.mkdtemp(prefix="collop-pg-"))
        self.port = free_port()
        self._as = []
        if os.geteuid() == 0:  # the server refuses to run as root
            account = pwd.getpwnam("postgres")
            os.chown(self.folder, account.pw_uid, account.pw_gid)
            self._as = ["runuser", "-u", "postgres", "--"]
        self.tool("initdb", "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C",
                  "-D", str(self.data))  # fmt: skip
        settings = _SETTINGS.format(folder=self.folder, port=self.port)
        if not syncs:
            settings += "fsync = off\nfull_page_writes = off\nautovacuum = off\n"
        subprocess.run([*self._as, "tee", "-a", str(self.data / "postgresql.conf")],
                       input=settings, text=True, check=True, capture_output=True)  # fmt: skip
        self._watch()
        self.start()
        self.sql("CREATE ROLE collop LOGIN")
        # as fast as each kind of server copies a database; older ones know one way
        is_new = int(self.sql("SHOW server_version_num")[0][0]) >= 150_000
        self._way = f"STRATEGY {'wal_log' if syncs else 'file_copy'}" if is_new else ""

    def _watch(self) -> None:
        """Let a process wait for the end of this one, however it ends, to stop and clear all."""
        stop = [
            *self._as,
            str(self.bin / "pg_ctl"),
            "-D",
            str(self.data),
            "-m",
            "immediate",
            "stop",
        ]
        script = f'read _; {shlex.join(stop)} >/dev/null 2>&1; rm -rf "$1"'
        self._watcher = subprocess.Popen(["sh", "-c", script, "sh", str(self.folder)],
                                         stdin=subprocess.PIPE, start_new_session=True,
                                         cwd=self.folder)  # fmt: skip

    @property
    def data(self) -> Path:
        """The server's files."""
        return self.folder / "data"

    def tool(self, name: str, *words: str) -> None:
        """Run one of the server's programs."""
        subprocess.run([*self._as, str(self.bin / name), *words], check=True, cwd=self.folder,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip

    def start(self) -> None:
        """Start the server and wait until it answers."""
        log = str(self.folder / "log")
        for _ in range(20):
            with contextlib.suppress(subprocess.CalledProcessError):
                self.tool("pg_ctl", "-D", str(self.data), "-l", log, "-w", "start")
                return
            time.sleep(0.5)  # a killed one's memory is not given back yet
        pytest.fail((self.folder / "log").read_text()[-2000:])

    def stop(self, how: str = "fast") -> None:
        """Stop it: fast, or immediate, which leaves all to the next start."""
        self.tool("pg_ctl", "-D", str(self.data), "-m", how, "-w", "stop")

    def kill(self) -> None:
        """Kill every process of the server at once."""
        first = (self.data / "postmaster.pid").read_text().split()[0]
        family = Path(f"/proc/{first}/task/{first}/children").read_text().split()
        for process in (first, *family):
            with contextlib.suppress(ProcessLookupError):
                os.kill(int(process), signal.SIGKILL)

    def sql(self, statement: str, database: str = "postgres") -> list:
        """Run a statement as the superuser."""
        with psycopg.connect(self.dsn("postgres", database), autocommit=True) as conn:
            cursor = conn.execute(statement)
            return cursor.fetchall() if cursor.description else []

    def dsn(self, role: str, database: str) -> str:
        """Return an address without a shop."""
        return f"postgresql://{role}@127.0.0.1:{self.port}/{database}"

    def database(self, name: str, template: str = "template0") -> str:
        """Make a database of the role collop and return its address."""
        self.sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        self.sql(f"CREATE DATABASE {name} OWNER collop TEMPLATE {template} {self._way}")
        return self.dsn("collop", name)

    def close(self) -> None:
        """Stop it and clear it away."""
        self._watcher.communicate()


def why_not() -> str:
    """Return why there can be no server here; empty if there can be one."""
    if programs() is None:
        return "PostgreSQL is not on this machine: apt-get install postgresql"
    try:
        pwd.getpwnam("postgres")
    except KeyError:
        if os.geteuid() == 0:
            return "PostgreSQL refuses root, and there is no account postgres"
    return ""


@pytest.fixture(scope="session")
def ground():
    """Return the server of these tests; they are left out where there is no PostgreSQL."""
    if why_not():
        pytest.skip(why_not())
    server = Server()
    yield server
    server.close()


@pytest.fixture(scope="session")
def two_demos(ground):
    """Return the database of two demo shops, ``one`` and ``two``: equal ids and numbers in both."""
    url = ground.database("two_demos")
    for name in ("one", "two"):
        create_shop(f"{url}?shop={name}", demo=True).close()
    return url


@pytest.fixture
def pair(ground, two_demos, request):
    """Return the address of a copy of the two demo shops."""
    name = f"t_{abs(hash(request.node.nodeid)) % 10**12}"
    yield ground.database(name, "two_demos")
    ground.sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def main(words: list[str]) -> None:
    """Run a server until it is told to end, and print the address of an empty database."""
    if why_not():
        sys.exit(why_not())
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    is_fast = "--fast" in words
    server = Server(syncs=not is_fast)
    try:
        address = server.database("collop") + ("?unsafe_sync=1" if is_fast else "")
        print(address, flush=True)  # noqa: T201 -- what it is asked for
        with contextlib.suppress(KeyboardInterrupt):
            signal.pause()
    finally:
        server.close()


if __name__ == "__main__":
    main(sys.argv[1:])
