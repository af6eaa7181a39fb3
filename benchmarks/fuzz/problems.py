"""A hundred thousand problems nobody would write, over every kernel.

``python benchmarks/fuzz/problems.py --state FILE`` runs each kernel's share (see ``KERNELS`` in
``tests/properties/problem_mutations.py``), every twentieth through the command as text, and prints
how they ended.  The state file holds how far it came: stopped, it goes on where it was.

Options: ``--share 0.1`` for a tenth, ``--only spread,bench``, ``--again`` to run only the findings
of the state file once more.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import CliRunner

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/properties"))

from problem_mutations import (  # noqa: E402
    KERNELS,
    End,
    end_of,
    end_of_command,
    problem_of,
    text_of,
)

_THROUGH_COMMAND = 20
_KINDS = ("plan", "refused")

Json = dict[str, Any]


def run(name: str, number: int) -> End:
    """Return how problem `number` of a kernel ended."""
    if number % _THROUGH_COMMAND == 0:
        return end_of_command(name, text_of(name, number), CliRunner())
    return end_of(name, problem_of(name, number))


def main() -> None:
    """Run what is left, and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--state", type=Path, default=Path("fuzz_problems.json"))
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--only", default="")
    parser.add_argument("--again", action="store_true")
    told = parser.parse_args()
    state = json.loads(told.state.read_text()) if told.state.exists() else {}
    names = told.only.split(",") if told.only else list(KERNELS)
    for name in names:
        kept = state.setdefault(name, {"done": 0, "ends": {}, "findings": [], "seconds": 0.0})
        if told.again:
            again(name, kept)
        else:
            work(name, kept, round(KERNELS[name][1] * told.share), lambda: _save(told.state, state))
        _save(told.state, state)
        print(_line(name, kept), flush=True)
    print(_line("all", _sum(state)))
    for name in names:
        for number, kind, said in state[name]["findings"]:
            print(f"  {name} {number}: {kind}: {said}")


def _save(path: Path, state: Json) -> None:
    path.with_suffix(".new").write_text(json.dumps(state))
    path.with_suffix(".new").replace(path)


def work(name: str, kept: Json, until: int, save: Callable[[], None]) -> None:
    """Run the problems of one kernel from where it stood."""
    ends, began = Counter(kept["ends"]), time.process_time()
    before = kept["seconds"]
    for number in range(kept["done"], until):
        end = run(name, number)
        ends[end.kind] += 1
        if end.is_finding:
            kept["findings"].append((number, end.kind, end.said))
            print(f"  {name} {number}: {end.kind}: {end.said}", flush=True)
        kept["done"], kept["ends"] = number + 1, dict(ends)
        kept["seconds"] = before + time.process_time() - began
        if number % 200 == 0:
            save()


def again(name: str, kept: Json) -> None:
    """Run the findings of one kernel once more, and keep how they end now."""
    ends, left = Counter(kept["ends"]), []
    for number, kind, _said in kept["findings"]:
        end = run(name, number)
        ends[kind] -= 1
        ends[end.kind] += 1
        if end.is_finding:
            left.append((number, end.kind, end.said))
    kept["findings"], kept["ends"] = left, {kind: n for kind, n in ends.items() if n}


def _sum(state: Json) -> Json:
    ends = Counter()
    for kept in state.values():
        ends.update(kept["ends"])
    return {
        "done": sum(kept["done"] for kept in state.values()),
        "ends": dict(ends),
        "seconds": sum(kept["seconds"] for kept in state.values()),
    }


def _line(name: str, kept: Json) -> str:
    ends = kept["ends"]
    more = {kind: count for kind, count in ends.items() if kind not in _KINDS}
    return (f"{name:<12}{kept['done']:>8} problems{ends.get('plan', 0):>8} plans"
            f"{ends.get('refused', 0):>8} refused{sum(more.values()):>6} findings"
            f"{kept['seconds']:>9.0f} s  {more or ''}")  # fmt: skip


if __name__ == "__main__":
    main()
