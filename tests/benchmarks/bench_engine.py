"""How long a call takes, and how much of it is proven, at every change place of the demos.

Run with ``python -m tests.benchmarks.bench_engine [EVENT ...]``.
"""

import sys
from pathlib import Path
from statistics import median
from time import perf_counter

from crewdesk.assets import shipped
from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import build_problem, place_for
from crewdesk.desk.replay import replay
from crewdesk.documents.store import load_event
from crewdesk.engine.solve import propose


def main(names: list[str]) -> None:
    """Print one line for each change place, then medians and worst values."""
    folder = Path(str(shipped("demo_events")))
    heads = ("event", "place", "loops", "first s", "all s", "flips s", "gap s", "work")
    print("".join(f"{h:>12}" for h in heads))
    firsts, alls, gaps = [], [], []
    for name in names or sorted(p.name for p in folder.iterdir() if p.is_dir()):
        bundle = load_event(folder / name)
        state = replay(bundle, [])
        for place in bundle.itinerary.change_places:
            options = CallOptions(at=place.key)
            at = place_for(bundle, state, place.key)
            problem = build_problem(bundle, state, options, at.due_in_utc)
            seen: list[float] = []
            start = perf_counter()
            result = propose(
                problem, on_progress=lambda _, s=start, n=seen: n.append(perf_counter() - s)
            )
            done = perf_counter() - start
            again = perf_counter()
            propose(problem, with_flips=True)
            with_flips = perf_counter() - again
            first = seen[0] if seen else done
            gap = result.gap_s if result.gap_s is not None else float("nan")
            firsts.append(first)
            alls.append(done)
            gaps.append(gap)
            loops = sum(bool(p.stages) for p in problem.places)
            row = (name, place.key, loops, f"{first:.2f}", f"{done:.2f}", f"{with_flips:.2f}")
            print("".join(f"{v!s:>12}" for v in (*row, f"{gap:.4f}", result.work)), flush=True)
    print(f"first: median {median(firsts):.2f} s, worst {max(firsts):.2f} s")
    print(f"all: median {median(alls):.2f} s, worst {max(alls):.2f} s")
    print(f"gap: median {median(gaps):.4f} s, worst {max(gaps):.4f} s")
    print(f"worst over median, all: {max(alls) / median(alls):.1f}")


if __name__ == "__main__":
    main(sys.argv[1:])
