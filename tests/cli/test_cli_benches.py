"""The command ``benches``: plan as JSON and in words, processes, a cluster, refusals, schema."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from distributed import LocalCluster

from collop.cli import main

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
FILE = str(EXAMPLES / "benches.json")


def run(*args, text=None):
    return CliRunner().invoke(main, ["benches", *args], input=text)


@pytest.fixture(scope="module")
def expected():
    return json.loads((EXAMPLES / "benches.plan.json").read_text(encoding="utf-8"))


def test_a_file_gives_its_plan_as_json(expected):
    """With --json the documented plan is printed, from a file or standard input; exit 0."""
    done = run(FILE, "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout) == expected
    text = Path(FILE).read_text(encoding="utf-8")
    assert run("-", "--json", text=text).stdout == done.stdout


def test_two_processes_give_the_same_plan(expected):
    """With --processes 2 the shops are planned elsewhere, and nothing else changes."""
    done = run(FILE, "--json", "--processes", "2")
    assert done.exit_code == 0, done.stderr
    assert json.loads(done.stdout) == expected


def test_a_cluster_gives_the_same_plan(expected):
    """With --cluster the shops are planned on the workers of a scheduler."""
    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, protocol="tcp://",
                      host="127.0.0.1", dashboard_address=":0") as cluster:  # fmt: skip
        done = run(FILE, "--json", "--cluster", cluster.scheduler_address)
    assert done.exit_code == 0, done.stderr
    assert json.loads(done.stdout) == expected


def test_people_get_lines_to_read(expected):
    """Without --json the shops, the vans and the sum stand in plain lines."""
    done = run(FILE)
    assert done.exit_code == 0
    words = ["Weir Lane: brings", "all bookings met", "to sell from 2026-06-10", "gains",
             "Lamb leg, bone in", f"Together {expected['contribution']}", "Assumed: "]  # fmt: skip
    for word in words:
        assert word in done.stdout
    assert "{" not in done.stdout


def test_nothing_to_send_is_said(tmp_path):
    """Without vans each shop stands alone, and a short booking is told."""
    problem = json.loads(Path(FILE).read_text(encoding="utf-8"))
    file = tmp_path / "alone.json"
    file.write_text(json.dumps(problem | {"transfers": []}), encoding="utf-8")
    done = run(str(file))
    assert "Nothing is worth sending." in done.stdout
    assert "SHORT" in done.stdout


def test_processes_and_cluster_exclude_each_other():
    """Both at once are refused in a sentence; exit 1."""
    done = run(FILE, "--processes", "2", "--cluster", "tcp://127.0.0.1:1")
    assert done.exit_code == 1
    assert done.stderr == "--processes and --cluster are both given; choose one.\n"


@pytest.mark.parametrize(
    "address", ["tcp://127.0.0.1:1", "127.0.0.1:1", "nowhere at all", "tcp://[", "tcp://a:b", ""]
)
def test_a_scheduler_that_does_not_answer_is_told(address):
    """An address without a scheduler gives one sentence, no traceback; exit 1."""
    done = run(FILE, "--cluster", address)
    assert done.exit_code == 1
    assert done.stderr.startswith("No scheduler answers at ")
    assert len(done.stderr.splitlines()) == 1


def test_a_missing_package_is_told(monkeypatch):
    """Without the package of the extra, the sentence says what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    done = run(FILE, "--cluster", "tcp://127.0.0.1:1")
    assert done.exit_code == 1
    assert 'pip install "collop[cluster]"' in done.stderr


def test_a_bad_shop_is_refused_with_its_path(tmp_path):
    """The sentence names the shop; with --json the error is an object; exit 1."""
    problem = json.loads(Path(FILE).read_text(encoding="utf-8"))
    problem["shops"][1]["problem"]["cuts"][0]["price"] = 3
    file = tmp_path / "bad.json"
    file.write_text(json.dumps(problem), encoding="utf-8")
    done = run(str(file), "--json")
    assert done.exit_code == 1
    assert json.loads(done.stdout)["error"]["where"] == "$.shops[1].problem.cuts[0].price"


def test_the_schemas_are_printed():
    """``collop schema`` knows the problem and the plan."""
    for name in ("benches", "benches.plan"):
        done = CliRunner().invoke(main, ["schema", name])
        assert done.exit_code == 0
        assert json.loads(done.stdout)["title"].startswith("collop.benches")
