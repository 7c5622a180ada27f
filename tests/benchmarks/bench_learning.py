"""Are the ranges of predicted tread true, and how fast is a day's learning?

Days with hidden truth are made from the model's own equations: factors of rubber and corner
are drawn once a day, an error of the model for each tyre and loop, an error of the gauge for
each point read. Four loops of two gravel stages; the same four tyres run two loops, every
other day moved across the car between them, then a fresh set. Learning sees only what was
read. The table says how often the depth at a loop's end lay inside the range of 80 in 100.

Run with ``python -m tests.benchmarks.bench_learning [DAYS]``.
"""

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np

from crewdesk.assets import shipped
from crewdesk.desk.learn import learn
from crewdesk.desk.learn_runs import PastRuns
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.replay import replay
from crewdesk.documents.store import load_event
from crewdesk.journal.entries import ENTRY_ADAPTER, StoredEntry
from crewdesk.physics import heat, kalman
from crewdesk.physics.bands import COMPOUND_LN_SD, CORNER_LN_SD, MODEL_LN_SD, depth_band_mm
from crewdesk.physics.learning_checks import disagree, gauge_is_off, gauge_offset, joint_z2
from crewdesk.physics.learning_wear import (
    GAUGE_SD_MM,
    NINETY,
    STAGE_LN_SD,
    WearReading,
    learn_wear,
    loss_ln_sd,
    loss_sd_mm,
    odd_point,
)
from crewdesk.physics.numbers import SHIPPED
from crewdesk.physics.stage import run_stage, stage_table
from crewdesk.physics.tyre import TyreState
from tests.reference.demo_day import gravel_stages
from tests.reference.example_set import AWD
from tests.reference.shipped_set import SURFACES, shipped_tyre

SCRIPTS = Path(__file__).parents[1] / "data" / "scripts"
LOOPS = 4
STAGES = 2
WARMER_C = (0.0, 5.0, 8.0, 6.0)
"""Air of each loop over that of the first."""
NEW_SD_MM = 0.05
"""A new tyre is as deep as its maker says."""


@dataclass(frozen=True)
class World:
    """What differs between the truth and what the crew goes by."""

    days: int = 1000
    factor: float = 1.0
    """Wear beside what was drawn."""
    gauge_bias_mm: float = 0.0
    """Of the gauge that the crew reads with; new depths are the maker's."""
    weather_off_c: float = 0.0
    """Truth over forecast, air and road."""
    bad_share: float = 0.0
    """Share of readings mistyped: the middle point 3 mm off."""
    rng: int = 5


@dataclass(frozen=True)
class Losses:
    """Predicted and true loss without the hidden factors, (days, loop, corner, point)."""

    told: np.ndarray
    true: np.ndarray


def _losses(compound: str, air_c: np.ndarray, road_c: np.ndarray) -> np.ndarray:
    """Return the loss (days, 4, 3) on one loop from tyres at air temperature."""
    spec = shipped_tyre("gravel", compound)
    n = air_c.size
    lost = np.zeros((n, 4, 3))
    deep = np.full((1, n, 3), 50.0)
    for corner in range(4):
        state = TyreState(deep, np.ones((1, n, 3)), air_c[None, :], air_c[None, :])
        for stage in gravel_stages(SURFACES):
            section = heat.road_map(
                air_c,
                road_c,
                km=stage.before_km,
                kmh=50.0,
                fz_n=heat.quarter_weight_n(AWD.mass_kg),
            )
            tread_c, bulk_c = heat.apply_map(section, state.tread_c, state.bulk_c)
            table = stage_table(
                AWD,
                km=stage.km,
                avg_kmh=stage.kmh,
                twist=stage.twist,
                right_share=stage.right_share,
                cuts=0.2,
                aggressiveness=0.8,
                surfaces=[stage.surface],
                surface_of=np.zeros(n, dtype=np.int64),
                air_c=air_c,
                road_c=road_c,
                altitude_m=0.0,
                camber_deg=(-1.0, -1.0),
                tyre_width_m=spec.width_m,
                tyre_diameter_m=spec.diameter_m,
                numbers=SHIPPED,
            )
            done = run_stage(
                table,
                corner,
                spec,
                replace(state, tread_c=tread_c, bulk_c=bulk_c),
                cold_kpa=190.0,
                set_c=15.0,
                set_altitude_m=0.0,
                target_kpa=225.0,
            )
            state = done.state
        lost[:, corner] = 50.0 - state.tread_mm[0]
    return lost


def losses(world: World, rng: np.random.Generator) -> Losses:
    """Return what the model says of every day, by the forecast and in the true weather."""
    first_c = rng.uniform(2.0, 26.0, world.days)
    sun_c = rng.uniform(1.0, 14.0, world.days)
    which = rng.integers(0, 3, world.days)
    told = np.zeros((world.days, LOOPS, 4, 3))
    true = np.zeros_like(told)
    for loop, warmer in enumerate(WARMER_C):
        air = first_c + warmer
        for number, compound in enumerate(("soft", "medium", "hard")):
            own = which == number
            told[own, loop] = _losses(compound, air[own], (air + sun_c)[own])
            real = air + world.weather_off_c
            true[own, loop] = (
                told[own, loop]
                if world.weather_off_c == 0.0
                else _losses(compound, real[own], (real + sun_c)[own])
            )
    return Losses(told, true)


@dataclass(frozen=True)
class Outcome:
    """What came of the days."""

    inside_mean: np.ndarray
    """(days, loop, corner): the mean depth lay in its range."""
    inside_point: np.ndarray
    """(days, loop, corner, point): the same of each point."""
    width_mm: np.ndarray
    """(days, loop, corner): width of the range of the mean depth over the loss told."""
    ln_sd: np.ndarray
    """(days, loop, corner): doubt of the loss."""
    asked: np.ndarray
    """(days,): readings asked about."""
    warned: np.ndarray
    """(days,): readings disagree, or the gauge is off."""
    far: np.ndarray
    """(days,): wear is told to be far from the table."""
    ms_a_day: float


@dataclass
class Tyre:
    """A tyre of a simulated day."""

    deep: np.ndarray
    """True depth at three points. [mm]"""
    read: np.ndarray
    """As trusted last."""
    read_sd_mm: float = NEW_SD_MM
    told: np.ndarray = field(default_factory=lambda: np.zeros(3))
    """Loss by the tables since then, as shares of the numbers learnt by corner. [mm]"""
    share: np.ndarray = field(default_factory=lambda: np.zeros(5))
    from_stock: bool = True


def _row(corner: int) -> np.ndarray:
    row = np.zeros(5)
    row[0] = row[1 + corner] = 1.0
    return row


class _Day:
    """One day: what the crew knows, loop by loop."""

    def __init__(self, learn: bool) -> None:
        self.belief = kalman.start(np.zeros(5), [COMPOUND_LN_SD] + [CORNER_LN_SD] * 4)
        self.learn = learn
        self.asked = 0
        self.moments: list[tuple[int, float]] = []
        self.rows: list[tuple[bool, float, float, np.ndarray]] = []

    def predict(self, tyre: Tyre, point_sd: bool) -> tuple[np.ndarray, np.ndarray, float]:
        """Return the range of each depth, or of their mean, and the doubt of ln(loss)."""
        lost = tyre.told * np.exp(self.belief.value(tyre.share))
        sd = loss_ln_sd(self.belief, tyre.share)
        if point_sd:
            low, high = depth_band_mm(tyre.read, lost, sd, tyre.read_sd_mm)
            return low, high, sd
        new = tyre.read_sd_mm == NEW_SD_MM
        own = NEW_SD_MM if new else GAUGE_SD_MM / np.sqrt(3.0)
        low, high = depth_band_mm(tyre.read.mean(), lost.mean(), sd, own)
        return low, high, sd

    def read(self, tyres: list[Tyre], depths: np.ndarray) -> None:
        """Take the depths of four tyres in, as the desk does."""
        readings = []
        for tyre, depth in zip(tyres, depths, strict=True):
            lost = tyre.told * np.exp(self.belief.value(tyre.share))
            which, odd = odd_point(depth, tyre.read - lost, float(lost.mean()))
            fit = np.arange(3) != (which if odd > kalman.QUESTIONED_Z2 else -1)
            told = float(tyre.told[fit].mean())
            measured = float((tyre.read - depth)[fit].mean())
            sd = loss_sd_mm(points=int(fit.sum()))
            readings.append((odd, WearReading(told, measured, tyre.share, sd)))
        after, seen = learn_wear(self.belief, [one for _, one in readings])
        self.moments.append((len(seen), joint_z2(self.belief, seen)))
        for tyre, depth, (odd, one), weighed in zip(tyres, depths, readings, seen, strict=True):
            self.rows.append((tyre.from_stock, one.predicted_mm, one.measured_mm, one.share))
            if max(weighed.z2, odd) > kalman.QUESTIONED_Z2:
                self.asked += 1  # nobody confirms it: it is reckoned on from the depth before
                continue
            tyre.read, tyre.read_sd_mm = depth, GAUGE_SD_MM
            tyre.told, tyre.share = np.zeros(3), np.zeros(5)
            tyre.from_stock = False
        if self.learn:
            self.belief = after

    def warned(self) -> bool:
        """Say whether readings disagree, or the gauge is found to be off."""
        kinds: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
        for stock, told, measured, share in self.rows:
            kinds[stock].append((told * np.exp(self.belief.value(share)), measured))
        if disagree(self.moments[-3:]):
            return True
        return min(map(len, kinds.values())) >= 4 and gauge_is_off(
            *gauge_offset(kinds[True], kinds[False])
        )

    def far(self) -> bool:
        """Say whether wear is told to be far from the table."""
        row = np.array([1.0, 0.25, 0.25, 0.25, 0.25])
        mean, sd = self.belief.value(row), self.belief.sd(row)
        return abs(mean) > NINETY * sd and abs(mean) >= np.log(1.25)


def play(world: World, *, learn: bool = True) -> Outcome:
    """Play the days and look at every range that was given."""
    rng = np.random.default_rng(world.rng)
    loss = losses(world, rng)
    shape = (world.days, LOOPS, 4)
    inside = np.zeros(shape, dtype=bool)
    inside_point = np.zeros((*shape, 3), dtype=bool)
    width, ln_sd = np.zeros(shape), np.zeros(shape)
    asked, warned, far = (np.zeros(world.days) for _ in range(3))
    rubber = rng.normal(0.0, COMPOUND_LN_SD, world.days)
    corner_ln = rng.normal(0.0, CORNER_LN_SD, (world.days, 4))
    spent = 0.0
    for number in range(world.days):
        day = _Day(learn)
        for loop in range(LOOPS):
            if loop % 2 == 0:  # a fresh set, as deep as its maker says
                tyres = [Tyre(np.full(3, 9.5), np.full(3, 9.5)) for _ in range(4)]
            elif number % 2:  # moved across the car: FL with RR, FR with RL
                tyres.reverse()
            rubber[number] += rng.normal(0.0, STAGE_LN_SD, STAGES).sum()
            off = rng.normal(0.0, MODEL_LN_SD, 4)
            hidden = world.factor * np.exp(rubber[number] + corner_ln[number] + off)
            gauge = rng.normal(0.0, GAUGE_SD_MM, (4, 3)) + world.gauge_bias_mm
            wrong = rng.random(4) < world.bad_share
            gauge[wrong, 1] += rng.choice([-3.0, 3.0], int(wrong.sum()))
            begun = perf_counter()
            day.belief = kalman.widened(day.belief, [STAGES * STAGE_LN_SD**2, 0, 0, 0, 0])
            spent += perf_counter() - begun
            for corner, tyre in enumerate(tyres):
                told = loss.told[number, loop, corner]
                before = float(tyre.told.mean())
                tyre.told = tyre.told + told
                now = float(told.mean())
                tyre.share = (before * tyre.share + now * _row(corner)) / (before + now)
                tyre.deep = tyre.deep - loss.true[number, loop, corner] * hidden[corner]
                at = number, loop, corner
                low, high, ln_sd[at] = day.predict(tyre, point_sd=False)
                inside[at] = low <= tyre.deep.mean() <= high
                width[at] = (high - low) / now
                low, high, _ = day.predict(tyre, point_sd=True)
                inside_point[at] = (low <= tyre.deep) & (tyre.deep <= high)
            depths = np.stack([tyre.deep for tyre in tyres]) + gauge
            begun = perf_counter()
            day.read(tyres, depths)
            spent += perf_counter() - begun
        asked[number], warned[number], far[number] = day.asked, day.warned(), day.far()
    return Outcome(
        inside, inside_point, width, ln_sd, asked, warned, far, 1e3 * spent / world.days
    )


WORLDS = {
    "as drawn": World(),
    "without learning": World(),
    "wear 40 % more": World(factor=1.4),
    "wear 40 % less": World(factor=0.6),
    "gauge 0.3 mm deep": World(gauge_bias_mm=0.3),
    "gauge 0.3 mm shallow": World(gauge_bias_mm=-0.3),
    "6 degC warmer": World(weather_off_c=6.0),
    "6 degC cooler": World(weather_off_c=-6.0),
    "1 in 10 mistyped": World(bad_share=0.1),
}


def main(arguments: list[str]) -> None:
    """Print the table."""
    days = int(arguments[0]) if arguments else 1000
    print(f"{days} days of four loops; inside the range of 80 in 100, per cent, by loop")
    heads = ("mean depth", "each point", "doubt of ln(loss)", "asked", "warned", "far")
    wide = (26, 26, 26, 8, 8, 8)
    print(f"{'':22}" + "".join(f"{h:>{w}}" for h, w in zip(heads, wide, strict=True)))
    for name, world in WORLDS.items():
        out = play(replace(world, days=days), learn=name != "without learning")
        cells = (
            " ".join(f"{v:5.1f}" for v in 100 * out.inside_mean.mean(axis=(0, 2))),
            " ".join(f"{v:5.1f}" for v in 100 * out.inside_point.mean(axis=(0, 2, 3))),
            " ".join(f"{v:5.3f}" for v in out.ln_sd.mean(axis=(0, 2))),
            f"{out.asked.mean():.2f}",
            f"{100 * out.warned.mean():.0f} %",
            f"{100 * out.far.mean():.0f} %",
        )
        print(f"{name:22}" + "".join(f"{c:>{w}}" for c, w in zip(cells, wide, strict=True)))
        if name == "as drawn":
            drawn = out
    print("asked: readings a day asked about; warned: days on which readings disagree or the")
    print("gauge is found off; far: days on which wear is told to be far from the table")
    print("loop 1 is before any reading; every other loop begins with the maker's depth")
    width = drawn.width_mm.mean(axis=(0, 2))
    print(f"width of the range over the loss by loop: {' '.join(f'{w:.2f}' for w in width)}")
    left = width[2] / width[0]
    print(f"after two loops {left:.2f} of the first width is left: it has shrunk by")
    print(f"{100 * (1 - left):.0f} % (goal: by 50 % or more)")
    print(f"all readings of a day learnt in {drawn.ms_a_day:.2f} ms (goal 5)")
    desk()


REPEATS = 20


def desk() -> None:
    """Print how long the desk takes on the scripted days, at their end."""
    print(
        "\nscripted days on the desk, ms: the readings of one service (goal 5), the whole book "
        "again, with every stage worked out"
    )
    for name in ("saldrey", "quellhaven", "lunehaven"):
        bundle = load_event(Path(str(shipped("demo_events"))) / name)
        lines = (SCRIPTS / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
        entries = [_stored(n, json.loads(line)) for n, line in enumerate(lines, start=1)]
        state = replay(bundle, entries)
        now = state.last_entry_at or entries[-1].at_utc
        past = PastRuns(bundle, state, now)
        learnt = learn_wear_of(past)
        count = learnt.readings
        services = len({one.stages[-1] for one in learnt.compared})
        again = _ms(lambda p=past: learn_wear_of(p))
        whole = _ms(lambda b=bundle, s=state, n=now: learn(b, s, n))
        one = again / services
        print(f"{name:12} {count:4d} readings {one:8.2f} {again:8.2f} {whole:8.1f}", flush=True)


def _stored(number: int, body: dict[str, Any]) -> StoredEntry:
    """Return a line of a script as it would stand in a book; "@3" names the third."""
    for key in ("question_id", "target_id"):
        if str(body.get(key, "")).startswith("@"):
            body[key] = f"id{body[key][1:]}"
    entry = ENTRY_ADAPTER.validate_python(body)
    assert entry.at is not None  # every line of the scripts has its time
    return StoredEntry(
        seq=number,
        id=f"id{number}",
        desk="bench",
        desk_seq=number,
        after=(),
        at_utc=entry.at,
        clock_offset_s=0.0,
        kind=entry.kind,
        version=1,
        body=entry,
    )


def _ms(work: Callable[[], object]) -> float:
    """Return the median time of some work. [ms]"""
    times = []
    for _ in range(REPEATS):
        begun = perf_counter()
        work()
        times.append(1e3 * (perf_counter() - begun))
    return median(times)


if __name__ == "__main__":
    main(sys.argv[1:])
