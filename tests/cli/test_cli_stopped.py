"""Long work tells on a terminal that it goes on; Ctrl-C ends any command with one sentence and 130.

130 is 128 and the number of SIGINT: POSIX.1-2017, Shell Command Language, 2.8.2 (from memory).
"""

from __future__ import annotations

import json
import os
import pty
import re
import signal
import subprocess
import sys
import time

import pytest

from collop.shop import open_shop
from collop.solver import Stopped, new_solver, stoppable

DEADLINE_S = 240
SAID = "Stopped: nothing of what was in work is written.\n"
# started in the background of a shell, a program ignores Ctrl-C unless it says otherwise
LISTENS = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
COLLOP = [sys.executable, "-c", f"{LISTENS}\nfrom collop.cli import main; main()"]


def begin(*args):
    """Start a command as a shell does."""
    return subprocess.Popen([*COLLOP, *args], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True)  # fmt: skip


def ended(process):
    """Return how a command that was stopped ended, and what it said."""
    try:
        said, wrong = process.communicate(timeout=DEADLINE_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        raise
    return process.returncode, said, wrong


@pytest.mark.parametrize("name", ["bench", "replay"])
def test_a_command_that_waits_for_its_problem_is_stopped(tmp_path, name):
    """One sentence on standard error, nothing on standard output, no trace."""
    pipe = tmp_path / "problem.json"
    os.mkfifo(pipe)
    process = begin(name, str(pipe))
    # opening waits until the command has opened it too, so it is at work from here on
    with pipe.open("w") as problem:
        problem.write("{")
        problem.flush()
        process.send_signal(signal.SIGINT)
    # a signal that comes just before the reading begins is seen when the reading ends
    assert ended(process) == (130, "", SAID)


def test_a_demo_that_is_stopped_leaves_no_half_shop(tmp_path):
    """Stopped while it writes: made anew in the same place it is whole."""
    path = tmp_path / "demo.db"
    process = begin("demo", "--db", str(path))
    until = time.monotonic() + DEADLINE_S
    while not path.exists():
        assert process.poll() is None
        assert time.monotonic() < until
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    code, _said, wrong = ended(process)
    assert (code, wrong) in {(130, SAID), (0, "")}
    if code == 0:  # it was quicker
        return
    again = subprocess.run([*COLLOP, "demo", "--db", str(path)], capture_output=True, text=True,
                           timeout=DEADLINE_S, check=False)  # fmt: skip
    assert again.returncode == 0, again.stderr
    with open_shop(f"sqlite:///{path}") as shop:
        assert shop.settings().demo
        assert not shop.check()


def test_a_solver_is_stopped_before_its_next_program():
    """Who waits is asked before each program; once it says stop, nothing more is run."""
    asked = iter([False, True])
    with stoppable(lambda: next(asked)):
        new_solver(1e-7, {}).run()
        with pytest.raises(Stopped, match="nothing of what was in work"):
            new_solver(1e-7, {}).run()
    new_solver(1e-7, {}).run()  # outside, nobody is asked


SLOW = f"""{LISTENS}
import sys, time
from collop import solver
from collop.cli import progress
progress._AFTER_S = 0.0
quiet = solver.go_on_or_stop
def slowly():
    time.sleep(0.3)
    quiet()
solver.go_on_or_stop = slowly
from collop.cli import main
main()
"""


def on_a_terminal(*args, until=None):
    """Run a command whose standard error is a terminal; return code, output and what was told."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen([sys.executable, "-c", SLOW, *args], stdout=subprocess.PIPE,
                               stderr=theirs)  # fmt: skip
    os.close(theirs)
    told = b""
    while True:
        try:
            more = os.read(ours, 4096)
        except OSError:  # the other end is closed
            more = b""
        if not more:
            break
        told += more
        if until is not None and until in told:
            process.send_signal(signal.SIGINT)
            until = None
    out, _ = process.communicate(timeout=DEADLINE_S)
    os.close(ours)
    return process.returncode, out, told.decode()


EXAMPLE = "docs/examples/bench.json"
LINE = re.compile(r"working, \d+ s, (\d+) programs so far; Ctrl-C stops it")


def test_a_terminal_is_told_how_far_the_work_is_and_the_answer_is_the_same():
    """The count of programs grows, the line is taken away, and a pipe gets none of it."""
    code, out, told = on_a_terminal("bench", EXAMPLE, "--json")
    assert code == 0
    counts = [int(count) for count in LINE.findall(told)]
    assert len(counts) >= 2
    assert counts == sorted(set(counts))
    assert told.endswith("\r\x1b[K")
    piped = subprocess.run([*COLLOP, "bench", EXAMPLE, "--json"], capture_output=True, check=True,
                           timeout=DEADLINE_S)  # fmt: skip
    assert piped.stderr == b""
    assert json.loads(piped.stdout) == json.loads(out)


def test_work_that_is_told_of_can_be_stopped_half_way():
    """Stopped when its second program is told: one sentence, no plan."""
    code, out, told = on_a_terminal("bench", EXAMPLE, "--json", until=b"2 programs")
    assert (code, out) == (130, b"")
    assert told.endswith(SAID.replace("\n", "\r\n"))
