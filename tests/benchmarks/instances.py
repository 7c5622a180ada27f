"""Invented events of a wanted size, from this project's own physics; the same every time."""

from dataclasses import dataclass, replace

import numpy as np

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.engine.problem import Problem
from tests.unit.engine.made import made_problem, made_rules, made_tyre

SIZES = ((12, 3), (24, 6), (40, 9), (80, 16))
"""Tyres and loops."""
COMPOUNDS = ("soft", "medium", "hard")
BLOCK = {"compound": "block", "maker": "block", "structure": "block"}
USED_SHARE = 1 / 3
"""Of the tyres so many have run before."""


@dataclass(frozen=True)
class Size:
    """How large an event is."""

    tyres: int
    loops: int

    @classmethod
    def read(cls, text: str) -> "Size":
        """Return a size from text as 24x6."""
        tyres, loops = text.split("x")
        return cls(int(tyres), int(loops))

    def __str__(self) -> str:
        return f"{self.tyres}x{self.loops}"


def instance(size: Size, seed: int, scenarios: int = 1) -> Problem:
    """Return an event: stages, tyres, rules and weather follow from size and seed alone."""
    draw = np.random.default_rng([size.tyres, size.loops, seed])
    tyres = []
    for number in range(size.tyres):
        compound = COMPOUNDS[number % 3]
        if draw.random() < USED_SHARE:
            mean = draw.uniform(4.5, 8.5)
            tread = tuple(float(x) for x in np.round(mean + draw.uniform(-0.4, 0.4, 3), 1))
            edge = tuple(float(x) for x in np.round(draw.uniform(0.35, 0.9, 3), 2))
            tyres.append(
                made_tyre(f"{compound[0].upper()}{number}", compound, tread_mm=tread, edge=edge)
            )
        else:
            tyres.append(made_tyre(f"{compound[0].upper()}{number}", compound))
    loops = [
        tuple(float(x) for x in np.round(draw.uniform(7.0, 20.0, draw.integers(1, 3)), 1))
        for _ in range(size.loops)
    ]
    rules = made_rules(
        axle_mix=BLOCK,
        spare_min=1,
        spare_max=2,
        qty_total=max(round(0.75 * size.tyres), 6),
        caps={"soft": round(0.3 * size.tyres), "medium": round(0.3 * size.tyres)},
    )
    problem = made_problem(
        tyres,
        loops,
        rules=rules,
        right=tuple(float(x) for x in np.round(draw.uniform(0.38, 0.62, 5), 2)),
        rims={f"R{i:03d}": "7Jx15" for i in range(2 * size.tyres)},
    )
    return replace(problem, conditions=weather(problem, draw, scenarios), seed=seed)


def weather(
    problem: Problem, draw: np.random.Generator, scenarios: int, *, sd_c: float = 2.5
) -> Conditions:
    """Return a day's weather: a wave through the day, errors common to all of it, rain."""
    keys = problem.conditions.keys
    n = len(keys)
    mean_c = draw.uniform(6.0, 26.0)
    wave = 5.0 * np.sin(np.linspace(0.0, 2.0 * np.pi * len(problem.places) / 6.0, n))
    above = draw.uniform(3.0, 14.0)
    wet_share = float(draw.choice([0.0, 0.0, 0.15, 0.35]))
    half = (scenarios + 1) // 2
    common, own = draw.standard_normal((half, 1)), 0.3 * draw.standard_normal((half, n))
    error = sd_c * (common + own)
    error = np.concatenate([error, -error])[:scenarios]
    if scenarios == 1:
        error = np.zeros((1, n))
    air = mean_c + wave + error
    wet = np.zeros((scenarios, n), dtype=bool)
    if scenarios > 1 and wet_share > 0.0:
        from_column = draw.integers(0, n, scenarios)
        rains = draw.random(scenarios) < wet_share
        wet = rains[:, None] & (np.arange(n)[None, :] >= from_column[:, None])
    road = air + np.where(wet, 1.0, above)
    state = np.where(wet, STATES.index("wet"), STATES.index("dry")).astype(np.int64)
    return Conditions(
        keys=keys,
        air_c=air,
        road_c=road,
        state=state,
        air_mean_c=air.mean(axis=0),
        air_sd_c=air.std(axis=0),
        road_mean_c=road.mean(axis=0),
        road_sd_c=road.std(axis=0),
        state_shares=tuple(
            {STATES[k]: float((state[:, m] == k).mean()) for k in np.unique(state[:, m])}
            for m in range(n)
        ),
        rain_mm_h=np.where(wet, 1.5, 0.0),
    )
