"""One answer in a process of its own, so that its memory is its own; a line of JSON comes out.

``python -m tests.benchmarks.one 24x6 SEED engine|highs|cp_sat|brute LIMIT_S``
"""

import json
import resource
import sys
from time import perf_counter
from typing import Any

from crewdesk.engine.judge import judge
from crewdesk.engine.result import PlanResult
from crewdesk.engine.solve import propose
from tests.benchmarks.instances import Size, instance

GRID_MM = 0.1
MEMORY_BYTES = 4 << 30
"""No answer may take more; the machine has others to serve."""


def by_engine(size: Size, seed: int, limit_s: float) -> dict[str, Any]:
    """Return what the engine finds in the time."""
    problem = instance(size, seed)
    seen_at: list[tuple[float, float]] = []
    began = perf_counter()

    def late() -> bool:
        return perf_counter() - began > limit_s

    def seen(better: PlanResult) -> None:
        if better.objective is not None:
            seen_at.append((perf_counter() - began, better.objective.total_s))

    result = propose(problem, effort="proof", stop=late, on_progress=seen, work_limit=10**9)
    spent = perf_counter() - began
    told: dict[str, Any] = {
        "elapsed_s": spent,
        "first_s": seen_at[0][0] if seen_at else spent,
        "seen": seen_at,
    }
    if not result.plan or result.objective is None:
        return told
    judged = judge(problem, [loop.fitting for loop in result.plan])
    if result.objective is not None:
        seen_at.append((spent, result.objective.total_s))
    told["value_s"] = judged.objective.total_s if judged.objective else None
    told["illegal"] = len(judged.breaches)
    told["gap_s"] = result.gap_s
    told["bound_s"] = result.bound_s
    told["proven"] = result.complete
    return told


def by_reference(size: Size, seed: int, limit_s: float, name: str) -> dict[str, Any]:
    """Return what one of the references finds in the time."""
    from tests.benchmarks.mip import by_cp_sat, by_highs, solve
    from tests.benchmarks.network import Network

    problem = instance(size, seed)
    began = perf_counter()
    found = solve(
        Network(problem, GRID_MM), by_highs if name == "highs" else by_cp_sat, limit_s, began
    )
    return {
        "elapsed_s": found.elapsed_s,
        "first_s": found.first_s,
        "found_s": found.found_s,
        "value_s": found.value_s,
        "illegal": found.illegal,
        "codes": sorted(found.codes),
        "gap_s": found.own_gap_s if found.plans else None,
        "proven": found.proven,
        "plan": found.plan,
    }


def by_trying(size: Size, seed: int) -> dict[str, Any]:
    """Return the best of all plans there are, one by one; two loops at most."""
    from tests.reference.test_engine_brute_force import best_by_trying

    problem = instance(size, seed)
    began = perf_counter()
    value = best_by_trying(problem)
    return {"elapsed_s": perf_counter() - began, "value_s": value, "illegal": 0, "gap_s": 0.0}


def main(arguments: list[str]) -> None:
    """Print one answer as a line of JSON."""
    size, seed, name, limit = arguments
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    try:
        if name == "engine":
            told = by_engine(Size.read(size), int(seed), float(limit))
        elif name == "brute":
            told = by_trying(Size.read(size), int(seed))
        else:
            told = by_reference(Size.read(size), int(seed), float(limit), name)
    except MemoryError:
        told = {"failed": "out of memory"}
    told["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(told))


if __name__ == "__main__":
    main(sys.argv[1:])
