"""Small invented events for the tests of the engine."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from crewdesk.conditions.moments import STATES, Conditions
from crewdesk.documents.event import Car, Settings, TyreModel
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.documents.stock import StockTyre
from crewdesk.engine.problem import Choices, Problem, TyreInput
from crewdesk.regulations.rulebook import Rulebook

START = datetime(2026, 6, 6, 7, 0, tzinfo=UTC)

CAR = Car(
    mass_kg=1390,
    front_share=0.56,
    wheelbase_m=2.53,
    cg_height_m=0.50,
    track_m=1.60,
    brake_front_share=0.62,
    drive_front_share=0.50,
    power_kw=210,
    tyre_size="17/65-15",
)


def made_tyre(
    tyre_id: str,
    compound: str = "medium",
    *,
    maker: str = "Corlane",
    tread_mm: float | tuple[float, float, float] = 9.5,
    edge: float | tuple[float, float, float] = 1.0,
    new: bool | None = None,
    price: float | None = 160.0,
    usable: bool = True,
    why: str = "",
    counted: bool = False,
    ever_fitted: bool | None = None,
    on_car=None,
    rim_id: str = "",
    use: str = "gravel",
    tread_sd_mm: float = 0.05,
    in_zone: bool = False,
    **stock,
) -> TyreInput:
    """Return a tyre."""
    tread = tread_mm if isinstance(tread_mm, tuple) else (tread_mm,) * 3
    edges = edge if isinstance(edge, tuple) else (edge,) * 3
    fresh = min(tread) >= 9.5 if new is None else new
    row = StockTyre(
        tyre_id=tyre_id,
        mark=f"M-{tyre_id}",
        maker=maker,
        model="Grit",
        compound=compound,
        use=use,
        hardness=compound,
        cap_group=compound,
        size="17/65-15",
        rim="7Jx15",
        rim_id=rim_id,
        new=fresh,
        tread_new_mm=9.5,
        tread_mm=tread,
        edge_share=edges,
        price=price,
        registered=True,
        code=compound[0].upper(),
        **stock,
    )
    model = TyreModel(
        maker=maker, model="Grit", compound=compound, family=use, hardness=compound
    )
    return TyreInput(
        stock=row,
        model=model,
        tread_mm=tread,
        edge_share=edges,
        tread_sd_mm=tread_sd_mm,
        rim_id=rim_id,
        counted=counted,
        ever_fitted=(not fresh) if ever_fitted is None else ever_fitted,
        usable=usable,
        unusable_why=why,
        on_car=on_car,
        in_zone=in_zone,
    )


def made_rules(**changes) -> Rulebook:
    """Return rules that limit little."""
    values = {
        "name": "Practice",
        "car_class": "four_wheel_drive",
        "qty_total": None,
        "qty_shakedown": 0,
        "shakedown_in_total": False,
        "caps": {},
        "count_rule": "fitted_or_carried",
        "marks_needed": False,
        "registration_needed": False,
        "spare_min": 0,
        "spare_max": 1,
        "wheel_must_return": True,
        "tread_min_mm": 1.6,
        "winter_tread_min_mm": None,
        "axle_mix": {"compound": "allow", "maker": "allow", "structure": "allow"},
        "joker_total": 0,
        "people_max": {},
        "last_service_change": True,
        "size_table": {},
        "e_mark_needed": False,
        "age_watch_years": 6.0,
        "age_stop_years": 10.0,
        "early_s_per_min": 60.0,
        "late_s_per_min": 10.0,
        "out_of_time_min": 30.0,
        "cut_allowed": False,
    }
    return Rulebook(**(values | changes))


def made_stage(number: int, loop: int, km: float, due, *, roughness: int = 3, r: float = 0.5):
    """Return a gravel stage."""
    return Stage(
        ref=f"SS{number}",
        index=number - 1,
        leg=1,
        loop=loop,
        name=f"Stage {number}",
        km=km,
        surface="gravel",
        roughness=roughness,
        abrasion=3,
        twist=0.6,
        right_share=r,
        cuts=0.2,
        shade=0.3,
        gravel_share=1.0,
        holds_water=0.1,
        pass_no=1,
        alt_start_m=200,
        alt_max_m=260,
        alt_finish_m=200,
        avg_kmh=90,
        broken=False,
        liaison_before_km=12.0,
        due_utc=due,
    )


def made_problem(
    tyres: Sequence[TyreInput],
    loops: Sequence[Sequence[float]] = ((12.0, 9.0), (14.0,)),
    *,
    kinds: Sequence[str] = (),
    rules: Rulebook | None = None,
    settings: Mapping[str, object] | None = None,
    scenarios: int = 6,
    seed: int = 1,
    air_c: float = 16.0,
    road_above_c: float = 8.0,
    spread_c: float = 3.0,
    states: Sequence[str] = ("dry",),
    right: Sequence[float] = (0.5, 0.42, 0.58),
    locks: Mapping[str, str] | None = None,
    bans: frozenset[str] = frozenset(),
    xi: float | None = None,
    rims: Mapping[str, str] | None = None,
    max_wheels: int | None = None,
) -> Problem:
    """Return a question: stage kilometres by loop; an empty loop has no stages."""
    places, stages = [], {}
    clock, number = START, 0
    for i, kms in enumerate(loops):
        kind = kinds[i] if i < len(kinds) else ("start" if i == 0 else "service")
        due_in = clock
        due_out = clock if kind == "start" else clock + timedelta(minutes=20)
        clock = due_out
        refs = []
        for km in kms:
            number += 1
            clock += timedelta(minutes=20)
            stage = made_stage(
                number,
                i + 1,
                km,
                clock,
                roughness=3 + number % 3 % 2,
                r=right[(number - 1) % len(right)],
            )
            stages[stage.ref] = stage
            refs.append(stage.ref)
            clock += timedelta(minutes=km / 1.5)
        clock += timedelta(minutes=25)
        places.append(
            ChangePlace(
                key="start" if kind == "start" else f"P{i}",
                loop=i + 1,
                kind=kind,
                leg=1,
                in_ref=f"TC{i}A",
                out_ref=f"TC{i}B",
                name=f"Place {i}",
                due_in_utc=due_in,
                due_out_utc=due_out,
                minutes=(due_out - due_in).total_seconds() / 60,
                stages=tuple(refs),
                altitude_m=200.0,
            )
        )
    draw = np.random.default_rng(seed)
    keys = (*(p.key for p in places), *stages)
    shape = (scenarios, len(keys))
    base = np.linspace(0.0, 4.0, len(keys))[None, :]
    air = air_c + base + spread_c * draw.standard_normal((scenarios, 1)) * np.ones(shape)
    road = air + road_above_c + 0.5 * spread_c * draw.standard_normal(shape)
    state = draw.choice([STATES.index(s) for s in states], size=shape)
    conditions = Conditions(
        keys=keys,
        air_c=air,
        road_c=road,
        state=state.astype(np.int64),
        air_mean_c=air.mean(axis=0),
        air_sd_c=air.std(axis=0),
        road_mean_c=road.mean(axis=0),
        road_sd_c=road.std(axis=0),
        state_shares=tuple(
            {STATES[k]: float((state[:, m] == k).mean()) for k in np.unique(state[:, m])}
            for m in range(len(keys))
        ),
        rain_mm_h=np.zeros(shape),
    )
    chosen = Settings(**(settings or {}))
    if xi is None:
        worth = chosen.new_tyre_worth_s
        xi = 160.0 / worth if worth else 0.0
    wheels = {f"R{i:02d}": "7Jx15" for i in range(1, 25)} if rims is None else rims
    return Problem(
        tyres=tuple(tyres),
        car=CAR,
        settings=chosen,
        rules=made_rules() if rules is None else rules,
        places=tuple(places),
        stages=stages,
        positions={1: 10},
        conditions=conditions,
        rims=wheels,
        counted_ids=frozenset(),
        choices=Choices(locks or {}, bans),
        xi_money_per_s=xi,
        max_wheels=max_wheels,
    )
