"""How long a stage on four corners takes in batches, against the same equations by hand.

Run with ``python -m tests.benchmarks.bench_stage``. Both sides are timed in turn in the same
run; the ratio is that of the least times. A stage is: its table (work, heat, response), the run
of P tyres in S scenarios on four corners (heat, wear, edges, grip, punctures, pressure) and the
time of the car. The goal is a ratio of 1.5 at most.
"""

from collections.abc import Callable
from time import perf_counter

import numpy as np

from crewdesk.physics.inflation import atmosphere_kpa
from crewdesk.physics.stage import run_stage, stage_table, stage_time_s
from crewdesk.physics.surface import StageSurface
from crewdesk.physics.tyre import TyreState
from tests.benchmarks.plain_stage import KELVIN, Road, plain_run, plain_table, plain_time
from tests.reference.example_set import AWD
from tests.reference.shipped_set import SURFACES, shipped_tyre

SIZES = ((1, 64), (16, 64), (256, 64), (1024, 64), (4096, 64))
ROUNDS = 15
WIDTH_M, CAMBER_DEG, COLD_KPA, SET_C, TARGET_KPA, ADDED_KG = (
    0.19,
    (-1.0, -1.0),
    175.0,
    16.0,
    215.0,
    22.0,
)

Arrays = tuple[np.ndarray, ...]


class Batch:
    """The same batch for both sides."""

    def __init__(self, paths: int, scenarios: int) -> None:
        draw = np.random.default_rng(1)
        shape = (4, paths, scenarios)
        self.tread = draw.uniform(3.0, 9.5, (*shape, 3))
        self.edge = draw.uniform(0.2, 1.0, (*shape, 3))
        self.tread_c, self.bulk_c = draw.uniform(5.0, 60.0, (2, *shape))
        self.air = draw.uniform(5.0, 30.0, scenarios)
        self.road_c = self.air + draw.uniform(0.0, 15.0, scenarios)
        self.spec = shipped_tyre("gravel", "medium")
        self.road = Road(14.2, 96.0, 0.6, 0.45, 0.2, 0.8, 0.45, 300.0, SURFACES["gravel_hard"])

    def package(self) -> Arrays:
        """Return times, grips, depths, edges, heat and punctures as the package has them."""
        road = self.road
        table = stage_table(
            AWD,
            km=road.km,
            avg_kmh=road.kmh,
            twist=road.twist,
            right_share=road.right,
            cuts=road.cuts,
            aggressiveness=road.driver,
            surfaces=[StageSurface(road.surface, road.rough)],
            surface_of=np.zeros(self.air.size, dtype=np.int64),
            air_c=self.air,
            road_c=self.road_c,
            altitude_m=road.altitude_m,
            camber_deg=CAMBER_DEG,
            tyre_width_m=WIDTH_M,
            tyre_diameter_m=0.65,
        )
        runs = [
            run_stage(
                table,
                corner,
                self.spec,
                TyreState(
                    self.tread[corner],
                    self.edge[corner],
                    self.tread_c[corner],
                    self.bulk_c[corner],
                ),
                cold_kpa=COLD_KPA,
                set_c=SET_C,
                set_altitude_m=0.0,
                target_kpa=TARGET_KPA,
            )
            for corner in range(4)
        ]
        mu = np.stack([run.mu for run in runs], axis=2)
        return (
            stage_time_s(table, mu, ADDED_KG),
            *(
                np.stack(column)
                for column in zip(*(_columns(run) for run in runs), strict=True)
            ),
        )

    def by_hand(self) -> Arrays:
        """Return the same, by hand."""
        table = plain_table(AWD, self.road, self.air, self.road_c, WIDTH_M, CAMBER_DEG)
        per_k = (COLD_KPA + float(atmosphere_kpa(0.0))) / (SET_C + KELVIN)
        run = plain_run(
            table,
            self.spec,
            self.tread,
            self.edge,
            self.tread_c,
            self.bulk_c,
            per_k,
            TARGET_KPA,
        )
        return (plain_time(table, run[4], ADDED_KG), *run)


def _columns(run) -> Arrays:
    state = run.state
    return (
        state.tread_mm,
        state.edge,
        state.tread_c,
        state.bulk_c,
        run.mu,
        run.hazard,
        run.loss_mm,
        run.p_hot_kpa,
    )


def farthest(batch: Batch) -> float:
    """Return the largest relative difference between both sides."""
    return max(
        float(np.max(np.abs(one - other) / np.maximum(np.abs(other), 1e-3)))
        for one, other in zip(batch.package(), batch.by_hand(), strict=True)
    )


def least_s(work: Callable[[], object], other: Callable[[], object]) -> tuple[float, float]:
    """Return the least times of two pieces of work done in turn. [s]."""
    best = [float("inf"), float("inf")]
    for _ in range(ROUNDS):
        for k, one in enumerate((work, other)):
            start = perf_counter()
            one()
            best[k] = min(best[k], perf_counter() - start)
    return best[0], best[1]


def main() -> None:
    """Print one line for each size of batch."""
    heads = ("tyres", "scenarios", "package ms", "by hand ms", "ratio", "per ms", "differ")
    print("".join(f"{head:>12}" for head in heads))
    for paths, scenarios in SIZES:
        batch = Batch(paths, scenarios)
        ours_s, plain_s = least_s(batch.package, batch.by_hand)
        per_ms = paths * scenarios * 4 / ours_s / 1000.0
        row = (paths, scenarios, f"{ours_s * 1e3:.3f}", f"{plain_s * 1e3:.3f}")
        row = (*row, f"{ours_s / plain_s:.2f}", f"{per_ms:.0f}", f"{farthest(batch):.1e}")
        print("".join(f"{cell!s:>12}" for cell in row), flush=True)


if __name__ == "__main__":
    main()
