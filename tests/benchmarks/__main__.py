"""The engine against a whole-number program on a wear grid and against CP-SAT.

``python -m tests.benchmarks [--sizes 12x3,24x6] [--seeds 5] [--limit 60]
[--solvers engine,highs,cp_sat] [--early] [--only-early]``

Every instance is answered by each in a process of its own, under one time limit, on one
thread. What a reference found is costed exactly by the judge; a plan that breaks a rule does
not count. The verdict at the end says whether the engine's plan was ever the worse one.
"""

import argparse
import json
import math
import subprocess
import sys
from itertools import pairwise
from statistics import median
from typing import Any

from tests.benchmarks.early import early
from tests.benchmarks.instances import SIZES, Size

SAME_S = 0.01
"""Values nearer than this are the same: the tolerance that the engine proves to."""
TINY = "6x2"
Row = dict[str, Any]


def answer(size: Size, seed: int, name: str, limit_s: float) -> Row:
    """Return one answer, or why there is none."""
    command = [sys.executable, "-m", "tests.benchmarks.one", str(size), str(seed), name]
    try:
        done = subprocess.run(
            [*command, str(limit_s)],
            capture_output=True,
            text=True,
            timeout=2 * limit_s + 30,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return {"failed": "did not end"}
    lines = done.stdout.strip().splitlines()
    if done.returncode or not lines:
        return {"failed": done.stderr.strip().splitlines()[-1:] or ["ended by itself"]}
    found: Row = json.loads(lines[-1])
    return found


def point(values: list[float], share: float) -> float:
    """Return a point of some values: 0.9 is the value that 9 in 10 do not pass."""
    ranked = sorted(values)
    return ranked[min(math.ceil(share * len(ranked)) - 1, len(ranked) - 1)]


def spread(values: list[float], digits: int = 2) -> str:
    """Return median, p90 and worst."""
    if not values:
        return "none"
    three = (median(values), point(values, 0.9), max(values))
    return " / ".join(f"{v:.{digits}f}" for v in three)


def of(rows: list[Row], key: str) -> list[float]:
    """Return the values of a key where there is one."""
    return [float(r[key]) for r in rows if r.get(key) is not None]


def tell(size: Size, answers: dict[str, list[Row]]) -> tuple[list[str], float | None]:
    """Print a size's table; return where the engine was worse, and its median time."""
    print(f"\n{size}: median / p90 / worst")
    for name, rows in answers.items():
        without = sum(r.get("value_s") is None for r in rows)
        illegal = sum(int(r.get("illegal") or 0) for r in rows)
        proven = sum(bool(r.get("proven")) for r in rows)
        print(
            f"  {name:<8} time {spread(of(rows, 'elapsed_s'))} s; "
            f"first {spread(of(rows, 'first_s'))} s; gap {spread(of(rows, 'gap_s'), 3)} s; "
            f"memory {spread(of(rows, 'peak_mb'), 0)} MB; proven {proven} of {len(rows)}; "
            f"no plan {without}; plans that break a rule {illegal}"
        )
        for why in sorted({str(r["failed"]) for r in rows if "failed" in r}):
            print(f"           {why}")
    worse: list[str] = []
    ratios: list[float] = []
    level: list[float] = []
    leads: list[float] = []
    open_: list[str] = []
    mine = answers.get("engine", [])
    for seed, row in enumerate(mine):
        others = [rows[seed] for name, rows in answers.items() if name != "engine"]
        valued = [r for r in others if r.get("value_s") is not None]
        if not valued:
            if row.get("value_s") is None:
                open_.append(f"{size} number {seed}: nobody has a plan in the time")
            continue
        best = min(valued, key=lambda r: (round(r["value_s"], 2), r["elapsed_s"]))
        if row.get("value_s") is None:
            worse.append(
                f"{size} number {seed}: no plan, a reference has {best['value_s']:.3f}"
            )
            continue
        lead = best["value_s"] - row["value_s"]
        leads.append(lead)
        ratios.append(row["elapsed_s"] / best["elapsed_s"])
        reached = [t for t, value in row["seen"] if value <= best["value_s"] + SAME_S]
        if reached and best.get("found_s"):
            level.append(reached[0] / best["found_s"])
        if lead < -SAME_S:
            worse.append(
                f"{size} number {seed}: {-lead:.3f} s worse than {best['value_s']:.4f}"
            )
            worse.append(f"  {json.dumps(best.get('plan'))}")
        if row.get("bound_s") is not None and best["value_s"] < row["bound_s"] - 1e-6:
            under = row["bound_s"] - best["value_s"]
            worse.append(
                f"{size} number {seed}: a reference lies {under:.4f} s under the bound"
            )
    if leads:
        print(f"  engine's plan better than the better reference by {spread(leads, 3)} s")
        print(f"  engine's time over the better reference's: {spread(ratios)}")
    if level:
        print(f"  time to a plan as good as that, over the reference's: {spread(level)}")
    for line in open_:
        print(f"  {line}")
    times = of(mine, "elapsed_s")
    return worse, (median(times) if times else None)


def growth(times: dict[Size, float]) -> None:
    """Print how the time grows from size to size."""
    sizes = sorted(times, key=lambda s: s.tyres * s.loops)
    for small, large in pairwise(sizes):
        ratio = times[large] / times[small]
        for word, factor in (
            ("tyres", large.tyres / small.tyres),
            ("loops", large.loops / small.loops),
        ):
            if factor > 1.0:
                power = math.log(ratio) / math.log(factor)
                print(f"  {small} to {large}: time x {ratio:.1f}, {word} to the {power:.1f}")


def main(arguments: list[str]) -> int:
    """Print all tables; return 0 where the engine always had a plan, never the worse."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("--sizes", default=",".join(f"{t}x{n}" for t, n in SIZES))
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--limit", type=float, default=60.0)
    parser.add_argument("--solvers", default="engine,highs,cp_sat")
    parser.add_argument("--early", action="store_true", help="also first answers, 200 weathers")
    parser.add_argument("--only-early", action="store_true")
    asked = parser.parse_args(arguments)
    worse: list[str] = []
    times: dict[Size, float] = {}
    unsolved = 0
    if not asked.only_early:
        plan = [(Size.read(TINY), [*asked.solvers.split(","), "brute"])]
        plan += [(Size.read(s), asked.solvers.split(",")) for s in asked.sizes.split(",")]
        for size, names in plan:
            answers = {
                name: [answer(size, seed, name, asked.limit) for seed in range(asked.seeds)]
                for name in names
            }
            found, time_s = tell(size, answers)
            worse += found
            unsolved += sum(r.get("value_s") is None for r in answers.get("engine", []))
            if time_s is not None and str(size) != TINY:
                times[size] = time_s
            sys.stdout.flush()
        print("\nhow the time grows")
        growth(times)
    if asked.early or asked.only_early:
        early(asked.seeds)
    if unsolved:
        print(f"\nwithout any plan in the time: {unsolved}")
    print("\nverdict: " + ("the engine was never the worse" if not worse else "ENGINE WORSE"))
    for line in worse:
        print(f"  {line}")
    return 1 if worse or unsolved else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
