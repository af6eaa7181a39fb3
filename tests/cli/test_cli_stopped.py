"""Ctrl-C ends any command with one sentence and 130, and nothing is half written.

130 is 128 and the number of SIGINT: POSIX.1-2017, Shell Command Language, 2.8.2 (from memory).
"""

from __future__ import annotations

import os
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
