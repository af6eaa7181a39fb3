"""Backup and restore by command, and one server on one file."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.shop import create_shop
from collop.shop.serving_lock import ServingLock

COLLOP = str(Path(sys.executable).with_name("collop"))
DEADLINE_S = 60


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    path = tmp_path_factory.mktemp("kept") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def file(made, tmp_path):
    path = tmp_path / "shop.db"
    path.write_bytes(made.read_bytes())
    return path


def run(*words):
    """Run the command in this process."""
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_backup_is_made_listed_and_restored(file):
    """Three commands, in words: made and checked, kept, restored with what stood there beside."""
    made = run("backup", "--db", file)
    assert made.exit_code == 0
    assert "made and checked: it opens as a shop and all adds up." in made.output
    run("sell", "C11=1.08", "--way", "cash", "--by", "dot", "--db", file)
    listed = run("backup", "--db", file, "--list")
    assert "1 kept." in listed.output
    (copy,) = Path(f"{file}.backups").glob("*.db")
    done = run("restore", copy, "--db", file, "--yes")
    assert "is restored from" in done.output
    assert "What stood there is kept as" in done.output
    assert run("check", "--db", file).exit_code == 0
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("SELECT count(*) FROM bookings WHERE kind = 'counter'").fetchone() == (
            0,
        )


def test_the_same_as_json(file, tmp_path):
    """What was made, what is kept, what was restored: each as one object."""
    made = json.loads(run("backup", "--db", file, "--to", tmp_path / "to", "--json").output)
    assert made["made"] == made["kept"][0]["file"]
    assert made["kept"][0]["note"]["acts"] >= 1
    done = json.loads(run("restore", made["made"], "--db", tmp_path / "new.db", "--json").output)
    assert done["seal"] == made["kept"][0]["note"]["seal"]
    assert done["before"] is None


def test_a_restore_asks_before_it_takes_a_place(file):
    """Without a yes nothing is done."""
    run("backup", "--db", file)
    (copy,) = Path(f"{file}.backups").glob("*.db")
    before = file.read_bytes()
    assert (
        CliRunner().invoke(main, ["restore", str(copy), "--db", str(file)], input="n\n").exit_code
    )
    assert file.read_bytes() == before


@pytest.mark.parametrize(("words", "said"), [
    (("backup", "--db", "nowhere.db"), "There is no shop at"),
    (("restore", "nowhere.db", "--db", "x.db"), "There is no backup at"),
    (("backup", "--db", "postgresql://a@b/c"), "on a database server"),
])  # fmt: skip
def test_what_cannot_be_kept_is_one_sentence(words, said, tmp_path, monkeypatch):
    """No traceback, exit 1, and what to do."""
    monkeypatch.chdir(tmp_path)
    done = run(*words)
    assert done.exit_code == 1
    assert said in done.output
    assert isinstance(done.exception, SystemExit)


def serving(file, port):
    """Start a server and wait until it says it is open."""
    server = subprocess.Popen([COLLOP, "serve", "--db", file, "--port", str(port)],
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                              env=os.environ | {"PYTHONUNBUFFERED": "1"})  # fmt: skip
    assert "is open on" in server.stdout.readline()
    return server


def ended(server):
    """Kill a server and read what else it said."""
    server.send_signal(signal.SIGKILL)
    return server.communicate(timeout=DEADLINE_S)[0]


def free_port():
    """Return a port nobody listens on."""
    import socket

    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def test_two_servers_never_have_one_file(file):
    """The second is told who has it; commands go on; a killed holder's lock is free."""
    first = serving(file, free_port())
    try:
        second = run("serve", "--db", file, "--port", free_port())
        assert second.exit_code == 1
        assert f"by process {first.pid} since" in second.output
        assert "use that one, or stop it first." in second.output
        sold = run("sell", "C11=1.08", "--way", "cash", "--by", "dot", "--db", file)
        assert sold.exit_code == 0, sold.output
        # a copy is made by itself, a moment after the start; from then on none is due
        until = time.monotonic() + DEADLINE_S
        while not list(Path(f"{file}.backups").glob("shop-*.db")) and time.monotonic() < until:
            time.sleep(0.1)
        made = json.loads(run("backup", "--db", file, "--json").output)
        assert len(made["kept"]) == 2
        refused = run("restore", made["made"], "--db", file, "--yes")
        assert "is served on" in refused.output
    finally:
        assert "Traceback" not in ended(first)
    with ServingLock(file, "looked at"):
        pass
    assert run("check", "--db", file).exit_code == 0


def test_a_damaged_shop_is_not_served_and_the_way_back_is_told(file):
    """One sentence with the command that restores the newest copy; the copy then serves."""
    run("backup", "--db", file)
    data = bytearray(file.read_bytes())
    middle = len(data) // 2 // 4096 * 4096
    data[middle : middle + 4096] = b"\xa5" * 4096
    file.write_bytes(bytes(data))
    told = run("serve", "--db", file, "--port", free_port())
    assert told.exit_code == 1
    assert "is damaged" in told.output
    way = told.output.strip().partition("with: collop ")[2].split()
    assert way[0] == "restore"
    assert run(*way, "--yes").exit_code == 0
    server = serving(file, free_port())
    assert "Traceback" not in ended(server)


def test_a_network_drive_is_not_served(file, monkeypatch):
    """A file on a network drive is refused before it is opened."""
    monkeypatch.setattr("collop.shop.disk_look._kind_of", lambda _folder, _mounts: "nfs4")
    told = run("serve", "--db", file, "--port", free_port())
    assert told.exit_code == 1
    assert "network drive (nfs4)" in told.output


def test_check_tells_of_the_disk_too(file):
    """Pages, keys, the time of a sync and the room, in words and as numbers; damage is told."""
    told = run("check", "--db", file, "--disk")
    assert told.exit_code == 0
    assert "Every page and key of the file is whole." in told.output
    assert "A small write is on the disk after" in told.output
    found = json.loads(run("check", "--db", file, "--disk", "--json").output)
    assert found["ok"] is True
    assert found["disk"]["shop_bytes"] == file.stat().st_size
    assert found["disk"]["sync_ms"] > 0
    with file.open("r+b") as raw:
        raw.seek(file.stat().st_size // 2 // 4096 * 4096)
        raw.write(b"\xa5" * 4096)
    told = run("check", "--db", file, "--disk")
    assert told.exit_code == 1
    assert "is damaged" in told.output


def test_a_log_that_would_lose_answers_is_refused_and_brought_right(file):
    """A file without the write-ahead log is not worked on; collop migrate sets it again."""
    with closing(sqlite3.connect(file)) as raw:
        raw.execute("PRAGMA journal_mode=DELETE")
    for words in (("check",), ("sell", "C11=1.08", "--way", "cash", "--by", "dot")):
        told = run(*words, "--db", file)
        assert told.exit_code == 1
        assert "journal_mode is delete, not wal" in told.output
    assert run("migrate", "--db", file).exit_code == 0
    assert run("check", "--db", file).exit_code == 0
