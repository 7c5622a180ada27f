"""Everything about one stage that does not depend on the tyre, worked out once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics import heat
from crewdesk.physics.car import CarParams
from crewdesk.physics.conductance import rolling_cooling
from crewdesk.physics.edges import edge_load
from crewdesk.physics.inflation import atmosphere_kpa
from crewdesk.physics.numbers import SHIPPED, ModelNumbers
from crewdesk.physics.sensitivity import Sensitivity, sensitivity
from crewdesk.physics.surface import StageSurface
from crewdesk.physics.wear import turning_asymmetry
from crewdesk.physics.work import corner_work, drive_of

Floats = NDArray[np.float64]

MOMENTS = (1.0 / 6.0, 0.5, 5.0 / 6.0, 1.0)
"""Middles of three equal slices of the stage, and its end."""


@dataclass(frozen=True)
class StageTable:
    """One stage in S scenarios, corners FL FR RL RR.

    Parameters
    ----------
    km, altitude_m, air_kpa : float
        Length, mean altitude, air pressure. [km], [m], [kPa]
    car : CarParams
        Car.
    right_share, aggressiveness, tyre_diameter_m : float
        As given.
    camber_shift : numpy.ndarray, shape (4, S)
        Wear moved to the inner edge by camber.
    work_j_m : numpy.ndarray, shape (S, 4)
        Slip work per metre. [J/m]
    asymmetry : numpy.ndarray, shape (4, S)
        From `wear.turning_asymmetry`.
    edge_load : numpy.ndarray, shape (4, 3, S)
        From `edges.edge_load`: braking, driving, cornering.
    rubber_work_j : numpy.ndarray, shape (4, S)
        Slip work done on rubber over the whole stage times abrasiveness. [J]
    tread_from_tread, tread_from_bulk : numpy.ndarray, shape (4, S)
        Weights of the start temperatures in the tread's, at `MOMENTS`.
    tread_offset : numpy.ndarray, shape (4, 4, S)
        What comes on top, corner by moment. [°C]
    bulk_from_tread, bulk_from_bulk : numpy.ndarray, shape (S,)
        The same for the bulk at the end.
    bulk_offset : numpy.ndarray, shape (4, S)
        By corner. [°C]
    hazard : numpy.ndarray, shape (4, S)
        Punctures on the stage of a new tyre at its target pressure.
    mu, lateral_transfer, time_s, speed_kmh, psi, ee, ed, drain, stud_grip, stud_wear,
    shoulder : numpy.ndarray, shape (S,)
        Surface numbers, load transfer, time and speed with tyres that grip as the
        surface says; `shoulder` is the factor of a rounded one.
    family_grip, family_wear : numpy.ndarray, shape (4, S)
        Factors by tyre family.
    response : Sensitivity
        How stage time answers to grip and mass, arrays (S,).
    air_c, road_c : numpy.ndarray, shape (S,)
        As given. [°C]
    """

    km: float
    altitude_m: float
    air_kpa: float
    car: CarParams
    right_share: float
    aggressiveness: float
    tyre_diameter_m: float
    camber_shift: Floats
    work_j_m: Floats
    asymmetry: Floats
    edge_load: Floats
    rubber_work_j: Floats
    tread_from_tread: Floats
    tread_from_bulk: Floats
    tread_offset: Floats
    bulk_from_tread: Floats
    bulk_from_bulk: Floats
    bulk_offset: Floats
    hazard: Floats
    mu: Floats
    lateral_transfer: Floats
    time_s: Floats
    speed_kmh: Floats
    psi: Floats
    ee: Floats
    ed: Floats
    drain: Floats
    stud_grip: Floats
    stud_wear: Floats
    shoulder: Floats
    family_grip: Floats
    family_wear: Floats
    response: Sensitivity
    air_c: Floats
    road_c: Floats

    @property
    def n_scenarios(self) -> int:
        """Number of scenarios S."""
        return int(self.air_c.shape[0])


@dataclass(frozen=True)
class _OnSurface:
    """A stage on one of its surfaces."""

    speed_ms: float
    lateral_transfer: float
    work_j_m: Floats
    asymmetry: Floats
    edge_load: Floats
    response: tuple[float, float, float, float]


def stage_table(
    car: CarParams,
    *,
    km: float,
    avg_kmh: float,
    twist: float,
    right_share: float,
    cuts: float,
    aggressiveness: float,
    surfaces: Sequence[StageSurface],
    surface_of: ArrayLike,
    air_c: ArrayLike,
    road_c: ArrayLike,
    altitude_m: float,
    camber_deg: tuple[float, float],
    tyre_width_m: float,
    tyre_diameter_m: float,
    numbers: ModelNumbers = SHIPPED,
) -> StageTable:
    r"""Return a stage worked out for every scenario.

    Parameters
    ----------
    car : CarParams
        Car.
    km : float
        Length. [km]
    avg_kmh : float
        Mean speed of the car on the dry road. [km/h]
    twist, right_share, cuts, aggressiveness : float
        Twistiness, share of right turns, exposure to cut corners, driver; 0 to 1.
    surfaces : sequence of StageSurface
        The different surfaces that occur.
    surface_of : array_like of int, shape (S,)
        Which of them each scenario has.
    air_c, road_c : array_like, shape (S,)
        Air and road at the start of the stage. [°C]
    altitude_m : float
        Mean altitude. [m]
    camber_deg : tuple of float
        Camber of front and rear wheels, negative is top-in. [deg]
    tyre_width_m, tyre_diameter_m : float
        Of the size the car runs; heat is worked out for it, the same for all tyres. [m]
    numbers : ModelNumbers
        Numbers of the model.

    Returns
    -------
    StageTable
        The table.

    Raises
    ------
    ValueError
        If a shape does not fit or a number lies outside its range.

    Notes
    -----
    In a state other than dry, time scales as :math:`(\mu_s / \mu_{dry})^{-e}` and speed
    by the inverse, with e of the plain dry class. Heat and wear then follow from that
    speed. Work uses the grip of the surface only, so it is shared by all tyres.

    References
    ----------
    .. [1] Tuning values of this project; formulas in `work`, `heat`, `wear`, `edges`.
    """
    if km <= 0.0 or avg_kmh <= 0.0 or tyre_width_m <= 0.0:
        raise ValueError("length, speed and tyre width of a stage must be positive")
    if not 0.0 <= cuts <= 1.0:
        raise ValueError("exposure to cut corners must lie between 0 and 1")
    air = np.atleast_1d(np.asarray(air_c, dtype=np.float64))
    road = np.atleast_1d(np.asarray(road_c, dtype=np.float64))
    of = np.atleast_1d(np.asarray(surface_of, dtype=np.int64))
    if not (air.shape == road.shape == of.shape and air.ndim == 1):
        raise ValueError("air, road and surface need one value for each scenario")
    if of.min() < 0 or of.max() >= len(surfaces):
        raise ValueError("surface_of names a surface that is not there")

    each = [
        _on_surface(
            car,
            surface,
            avg_kmh=avg_kmh,
            twist=twist,
            right_share=right_share,
            aggressiveness=aggressiveness,
            drift=numbers.drift,
        )
        for surface in surfaces
    ]

    def pick(values: Sequence[float]) -> Floats:
        return np.asarray(values, dtype=np.float64)[of]

    params = [s.params for s in surfaces]
    speed = pick([e.speed_ms for e in each])
    work = np.array([e.work_j_m for e in each])[of]
    asphalt = pick([p.asphalt for p in params])
    eta = pick([p.eta for p in params])
    kap = pick([p.kap for p in params])
    rough = pick([s.roughness_share for s in surfaces])
    exposed = np.minimum(1.0, cuts + pick([s.cuts_added_share for s in surfaces]))

    cooling = rolling_cooling(
        speed,
        road_effusivity=pick([p.e_s for p in params]),
        water_w_k=pick([p.u_w for p in params]),
        width_m=tyre_width_m,
        land_ratio=numbers.land_loose + (numbers.land_asphalt - numbers.land_loose) * asphalt,
        numbers=numbers,
    )
    duration = km * 1000.0 / speed
    tread_w = pick([p.chi for p in params]) * eta * speed * work.T
    bulk_w = heat.STAGE_ROLLING * heat.quarter_weight_n(car.mass_kg) * speed
    steady = heat.steady_c(cooling, air_c=air, road_c=road, tread_w=tread_w, bulk_w=bulk_w)
    steps = heat.step_matrix(cooling, np.multiply.outer(MOMENTS, duration))
    from_tread = np.ascontiguousarray(steps[..., 0, 0])
    from_bulk = np.ascontiguousarray(steps[..., 0, 1])
    end = steps[-1]

    camber = np.repeat(np.asarray(camber_deg, dtype=np.float64), 2)
    per_degree = (
        numbers.camber_wear_loose
        + (numbers.camber_wear_asphalt - numbers.camber_wear_loose) * asphalt
    )
    axle = np.array([numbers.hazard_front] * 2 + [numbers.hazard_rear] * 2)
    driver = np.exp(numbers.hazard_driver_slope * (aggressiveness - 0.8))
    base = pick([p.h0 for p in params]) * np.exp(3.0 * rough + exposed) * km * driver
    loads = np.array([e.edge_load for e in each])[of]
    return StageTable(
        km=km,
        altitude_m=altitude_m,
        air_kpa=float(atmosphere_kpa(altitude_m)),
        car=car,
        right_share=right_share,
        aggressiveness=aggressiveness,
        tyre_diameter_m=tyre_diameter_m,
        camber_shift=-np.outer(camber, per_degree),
        work_j_m=work,
        asymmetry=np.array([e.asymmetry for e in each])[of].T.copy(),
        edge_load=np.ascontiguousarray(loads.transpose(1, 2, 0)),
        rubber_work_j=(kap * eta * km * 1000.0) * work.T,
        tread_from_tread=from_tread,
        tread_from_bulk=from_bulk,
        tread_offset=steady[:, np.newaxis, :, 0]
        - from_tread * steady[:, np.newaxis, :, 0]
        - from_bulk * steady[:, np.newaxis, :, 1],
        bulk_from_tread=end[:, 1, 0].copy(),
        bulk_from_bulk=end[:, 1, 1].copy(),
        bulk_offset=steady[:, :, 1]
        - end[:, 1, 0] * steady[:, :, 0]
        - end[:, 1, 1] * steady[:, :, 1],
        hazard=np.outer(axle, base),
        mu=pick([p.mu for p in params]),
        lateral_transfer=pick([e.lateral_transfer for e in each]),
        time_s=duration,
        speed_kmh=speed * 3.6,
        psi=pick([p.psi for p in params]),
        ee=pick([p.ee for p in params]),
        ed=pick([p.ed for p in params]),
        drain=pick([p.drain for p in params]),
        stud_grip=pick([p.stud_grip for p in params]),
        stud_wear=pick([p.stud_wear for p in params]),
        shoulder=1.0 - 0.2 * pick([p.loose for p in params]),
        family_grip=np.array([p.tyre_grip for p in params])[of].T.copy(),
        family_wear=np.array([p.tyre_wear for p in params])[of].T.copy(),
        response=Sensitivity(*np.array([e.response for e in each])[of].T.copy()),
        air_c=air,
        road_c=road,
    )


def _on_surface(
    car: CarParams,
    surface: StageSurface,
    *,
    avg_kmh: float,
    twist: float,
    right_share: float,
    aggressiveness: float,
    drift: float,
) -> _OnSurface:
    """Return speed, work and time response of a stage on one surface."""
    params = surface.params
    dry = sensitivity(car, mu=surface.mu_dry, speed_ms=avg_kmh / 3.6)
    faster = (surface.mu_state / surface.mu_dry) ** dry.exponent
    speed = avg_kmh / 3.6 * float(faster)
    drive = drive_of(
        car, mu=params.mu, speed_ms=speed, twist=twist, aggressiveness=aggressiveness
    )
    work = corner_work(
        car,
        drive,
        mu=params.mu,
        c_per_rad=params.c_per_rad,
        roughness=surface.roughness_share,
        right_share=right_share,
        drift=drift,
    )
    outward = np.array([right_share, 1.0 - right_share] * 2)
    response = sensitivity(car, mu=params.mu, speed_ms=speed)
    return _OnSurface(
        speed_ms=speed,
        lateral_transfer=drive.lateral_transfer,
        work_j_m=work.total_j_m,
        asymmetry=turning_asymmetry(
            work.corner_j_m / work.total_j_m, drive.lateral_transfer, outward
        ),
        edge_load=edge_load(work.brake_j_m, work.drive_j_m, work.corner_j_m),
        response=(
            float(response.exponent),
            float(response.brake_share),
            float(response.drive_share),
            float(response.mass_exponent),
        ),
    )
