"""What the call is worth on simulated days of the demo events.

Run with ``python -m tests.benchmarks.bench_backtest [DAYS] [EVENT ...]``. A day takes 2 to 15 s
of one processor, by event. Beside the table it tells what the rest is made of: on some of the
days the engine also plans with the true weather and wear, but without the stones.
"""

import sys
from pathlib import Path
from time import perf_counter

from crewdesk.assets import shipped
from crewdesk.desk.ask import money_per_s
from crewdesk.desk.backtest.foresight import Foresight
from crewdesk.desk.backtest.garage import Garage, true_tables
from crewdesk.desk.backtest.play import Played, play
from crewdesk.desk.backtest.policies import Engine
from crewdesk.desk.backtest.run import backtest_days
from crewdesk.desk.backtest.score import Backtest, DayScore
from crewdesk.desk.backtest.sky import Spread
from crewdesk.desk.backtest.truth import draw_truth
from crewdesk.desk.backtest.words import backtest_words
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.store import load_event

GOAL = 0.85
LOOKED_AT = 15
"""Days that are also played with weather and wear known and the stones not."""
WHOLE = ("call", "rule_of_thumb", "foresight")


def main(arguments: list[str]) -> None:
    """Print the table of each event, and how much of the possible gain is recovered."""
    days = int(arguments[0]) if arguments else 200
    folder = Path(str(shipped("demo_events")))
    for name in arguments[1:] or ("saldrey", "quellhaven", "lunehaven"):
        bundle = load_event(folder / name)
        began = perf_counter()
        made = backtest_days(bundle, days)
        spent = perf_counter() - began
        print(f"== {name}: {spent / max(len(made.days), 1):.1f} s a day")
        print("\n".join(backtest_words(made)))
        share = made.share_recovered
        without = sum(
            day.scores["call"].no_plan and not day.scores["foresight"].no_plan
            for day in made.days
        )
        told = "none" if share is None else f"{100 * share:.0f} %"
        print(f"recovered {told} (goal {100 * GOAL:.0f} %); days without a plan where")
        print(f"foresight had one: {without} (goal 0)")
        print(f"{rest(bundle, made)}\n", flush=True)
        if made.stopped:
            break


def rest(bundle: EventBundle, made: Backtest) -> str:
    """Return what knowing the stones, and what knowing weather and wear, is worth."""
    xi = money_per_s(bundle, bundle.event.settings.new_tyre_worth_s)
    whole = [day for day in made.days if all(day.scores[name].whole for name in WHOLE)]
    pairs = [(day, blind(bundle, made.seed, day)) for day in whole[:LOOKED_AT]]
    kept = [(day, one) for day, one in pairs if one.whole]
    if not kept:
        return f"{len(whole)} days were whole for everybody: too few to say more."
    count = len(kept)
    mean = {name: sum(d.scores[name].driven_s for d, _ in kept) / count for name in WHOLE}
    weather = sum(one.cost_s(xi) for _, one in kept) / count
    return (
        f"{len(whole)} days were whole for everybody; on {count} of them, s a day: rule of "
        f"thumb {mean['rule_of_thumb']:.1f}, call {mean['call']:.1f}, weather and wear known "
        f"{weather:.1f}, the stones known as well {mean['foresight']:.1f}."
    )


def blind(bundle: EventBundle, seed: int, day: DayScore) -> Played:
    """Return a day as the engine drives it with weather and wear known, the stones not."""
    truth = draw_truth(bundle, seed, day.day, Spread())
    garage = Garage(bundle, truth, true_tables(bundle, truth))
    return play(bundle, truth, garage, Foresight(Engine(), truth, garage, stones=False))


if __name__ == "__main__":
    main(sys.argv[1:])
