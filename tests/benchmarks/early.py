"""The first answer: how soon it comes, what it loses, and how soon it is set right."""

from dataclasses import replace
from statistics import median
from time import perf_counter

from crewdesk.engine.moving import shifted
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import PlanResult
from crewdesk.engine.solve import propose
from crewdesk.engine.warm import Memory
from tests.benchmarks.instances import Size, instance

SCENARIOS = 200
SIZE = "24x6"
LIMIT_S = 60.0
READ_C = 1.0
"""A new reading of the road moves it so far."""


def timed(problem: Problem, memory: Memory) -> tuple[float, float, float, PlanResult]:
    """Return time of the first answer, of the last better one, of all, and the answer."""
    seen: list[tuple[float, float]] = []
    began = perf_counter()

    def tell(result: PlanResult) -> None:
        if result.objective is not None:
            seen.append((perf_counter() - began, result.objective.total_s))

    result = propose(problem, effort="quick", on_progress=tell, memory=memory)
    spent = perf_counter() - began
    if not seen or result.objective is None:
        return spent, spent, spent, result
    return seen[0][0], seen[-1][0], spent, result


def early(seeds: int) -> None:
    """Print the figures of events with many weathers, cold and after one reading."""
    size = Size.read(SIZE)
    rows: list[tuple[float, ...]] = []
    for seed in range(seeds):
        problem = instance(size, seed, SCENARIOS)
        losses: list[float] = []
        # As in the window: the last answer is kept for the next question.
        memory = Memory()
        began = perf_counter()

        def first_of(
            result: PlanResult, seen: list[float] = losses, since: float = began
        ) -> None:
            if result.objective is not None:
                seen.extend([perf_counter() - since, result.objective.total_s])

        def late(since: float = began) -> bool:
            return perf_counter() - since > LIMIT_S

        full = propose(problem, effort="proof", on_progress=first_of, stop=late, memory=memory)
        spent = perf_counter() - began
        if full.objective is None or not losses:
            print(f"  {SIZE} number {seed}: no plan after {spent:.1f} s", flush=True)
            continue
        loss = losses[1] - full.objective.total_s
        read = replace(problem, conditions=shifted(problem.conditions, READ_C))
        warm_first, warm_last, warm_all, _ = timed(read, memory)
        rows.append((losses[0], losses[-2], spent, loss, warm_first, warm_last, warm_all))
        print(f"  {SIZE} number {seed}: " + " ".join(f"{v:.2f}" for v in rows[-1]), flush=True)
    heads = (
        "first answer s",
        "last better one s",
        "the whole search s",
        "loss of the first s",
        "after a reading: first s",
        "after a reading: last s",
        "after a reading: all s",
    )
    print(f"\n{SIZE} with {SCENARIOS} weathers: median, worst")
    for head, column in zip(heads, zip(*rows, strict=True), strict=False):
        print(f"  {head}: {median(column):.2f}, {max(column):.2f}")
