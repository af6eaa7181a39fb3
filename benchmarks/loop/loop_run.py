"""Run the two weeks over many seeds; rows go to a file of JSON lines, and what is there is kept.

``python benchmarks/loop/loop_run.py --pilot`` writes usual.json;
``python benchmarks/loop/loop_run.py --seeds 30`` trades; ``--report`` writes RESULTS.md.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from loop_trade import USUAL, WAYS, pilot, trade, usual_figures

ROWS = Path(__file__).with_name("rows.jsonl")
PILOT = range(9001, 9007)


def _done(path: Path) -> set[tuple[int, str]]:
    if not path.exists():
        return set()
    rows = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    return {(row["seed"], row["way"]) for row in rows}


def main() -> None:
    """Read the options and run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pilot", action="store_true")
    parser.add_argument("--report", action="store_true")
    parser.add_argument("--seeds", type=int, default=30)
    parser.add_argument("--rows", type=Path, default=ROWS)
    parser.add_argument("--ways", nargs="+", choices=list(WAYS), default=list(WAYS))
    chosen = parser.parse_args()
    if chosen.pilot:
        note = "asked for on each day of the week, Monday first, in 0.001 lb; see loop_trade.pilot"
        text = json.dumps({"note": note, "seeds": [PILOT[0], PILOT[-1]],
                           "usual_mlb": pilot(PILOT)}, indent=1)  # fmt: skip
        USUAL.write_text(text + "\n", encoding="utf-8")
        return
    if chosen.report:
        from loop_report import write_report  # noqa: PLC0415 -- only then

        write_report(chosen.rows)
        return
    usual, done = usual_figures(), _done(chosen.rows)
    for seed in range(1, chosen.seeds + 1):
        for way in chosen.ways:
            if (seed, way) in done:
                continue
            start = time.process_time()
            row = trade(seed, way, usual)
            took = time.process_time() - start
            with chosen.rows.open("a", encoding="utf-8") as out:
                out.write(json.dumps(row | {"cpu_s": round(took, 1)}, sort_keys=True) + "\n")
            print(f"{seed} {way}: {row['contribution'] / 100:.2f}, {took:.1f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
