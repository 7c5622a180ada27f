"""A stage on four corners, written by hand in as little numpy as the equations need.

No checks, no catalogue, no types: plain arrays in, plain arrays out, all corners at once. It is
the yardstick of `bench_stage` and says the same as the package.
"""

from dataclasses import dataclass

import numpy as np

G = 9.80665
KELVIN = 273.15


@dataclass(frozen=True)
class Road:
    """A stage; the surface numbers of one surface."""

    km: float
    kmh: float
    twist: float
    right: float
    cuts: float
    driver: float
    rough: float
    altitude_m: float
    surface: object


def plain_table(car, road, air, road_c, width_m, camber):
    """Return what does not hang on the tyre, for S scenarios of one surface."""
    p = road.surface
    v = road.kmh / 3.6
    m, mu, power = car.mass_kg, p.mu, 850.0 * car.power_kw
    w = np.array([car.front_share, 1.0 - car.front_share])
    lift = car.cg_height_m / car.wheelbase_m
    brakes = np.array([car.brake_front_share, 1.0 - car.brake_front_share])
    driven = np.array([car.drive_front_share, 1.0 - car.drive_front_share])
    toward = np.array([1.0, -1.0])
    used = 0.80 + 0.18 * road.driver
    um = used * mu
    rho = power / (m * v * mu * G)
    with np.errstate(divide="ignore"):
        room = brakes - toward * um * lift
        a_b = np.where(room > 0.0, um * w / room, np.inf).min()
        room = driven + toward * um * lift
        limits = np.where((room > 0.0) & (driven > 0.0), um * w / room, np.inf)
        a_d = min(limits.min(), power / (m * 0.85 * v * G))
    shares = np.array(
        [0.14 + 0.12 * road.twist, 0.32 * np.tanh(1.2 * rho), 0.38 - 0.1 * road.twist]
    )
    n_b, n_d = m * G * (w + toward * a_b * lift), m * G * (w - toward * a_d * lift)
    f = np.array(
        [
            [used, used],
            brakes * a_b * m * G / (mu * n_b),
            driven * a_d * m * G / (mu * n_d),
            [0.1, 0.1],
        ]
    )
    f = np.minimum(f, 0.995)
    phi = 3.0 * f * (1.0 - np.cbrt(1.0 - f))
    k = mu * mu / p.c_per_rad * (1.0 + (0.05 + 0.35 * road.rough) ** 2)
    loads = np.array([m * G * w, n_b, n_d, m * G * w]) / 2.0
    e = k * np.append(shares, 1.0 - shares.sum())[:, None] * phi * loads
    lam = min(2.0 * car.cg_height_m / car.track_m * um, 0.95)
    left = 1.0 + lam * (2.0 * road.right - 1.0)
    e = np.repeat(e, 2, axis=1)
    e[0] *= np.array([left, 2.0 - left] * 2)
    total = e.sum(axis=0)
    out = np.array([road.right, 1.0 - road.right] * 2)
    out = out * (1.0 + lam) / (out * (1.0 + lam) + (1.0 - out) * (1.0 - lam))
    asym = e[0] / total * (2.0 * out - 1.0)
    edge = np.clip(3.0 * e[[1, 2, 0]] / e[:3].sum(axis=0), 0.3, 2.0)

    h = 6.0 + 4.0 * v**0.8
    both = RUBBER * p.e_s / (RUBBER + p.e_s)
    land = 0.6 + 0.2 * p.asphalt
    u_c = 2.0 * both / np.sqrt(np.pi * 0.12 / v) * 0.12 * width_m * land
    u_r = 1.0 / (1.0 / u_c + 1.0 / 12.0) + p.u_w
    u_a, u_b, u_tb = 0.30 * h, 0.50 * h, 14.0
    q_t = p.chi * p.eta * total[:, None] * v + u_a * air + u_r * road_c
    q_b = 0.012 * m * G / 4.0 * v + u_b * air
    to, bo = u_a + u_r + u_tb, u_b + u_tb
    det = to * bo - u_tb**2
    t_inf, b_inf = (q_t * bo + q_b * u_tb) / det, (q_b * to + q_t * u_tb) / det
    a11, a12, a21, a22 = -to / 7000.0, u_tb / 7000.0, u_tb / 12000.0, -bo / 12000.0
    half = 0.5 * (a11 + a22)
    dl = np.sqrt(half**2 - (a11 * a22 - a12 * a21))
    t = 1000.0 * road.km / v * np.array([1 / 6, 0.5, 5 / 6, 1.0])
    slow, fast = np.exp((half + dl) * t), np.exp((half - dl) * t)
    even, odd = 0.5 * (slow + fast), 0.5 * (slow - fast) / dl
    m00, m01 = even + odd * (a11 - half), odd * a12
    m10, m11 = odd[3] * a21, even[3] + odd[3] * (a22 - half)
    tread_off = t_inf[:, None] * (1.0 - m00)[:, None] - b_inf[:, None] * m01[:, None]
    bulk_off = b_inf * (1.0 - m11) - t_inf * m10
    per_deg = 0.06 + 0.08 * p.asphalt
    axle = np.array([0.7, 0.7, 1.3, 1.3])
    hazard = axle * p.h0 * np.exp(3.0 * road.rough + road.cuts) * road.km
    hazard *= np.exp(0.6 * (road.driver - 0.8))
    g_t = np.tanh(0.95 * rho)
    ex = 0.5 * g_t**0.55
    s_d = 0.33 * g_t**2
    return {
        "rubber": p.kap * p.eta * road.km * 1000.0 * total,
        "asym": asym,
        "camber": -np.repeat(camber, 2) * per_deg,
        "edge": edge,
        "m": (m00, m01, m10, m11),
        "tread_off": tread_off,
        "bulk_off": bulk_off,
        "hazard": hazard,
        "air_kpa": 101.325 * (1.0 - 0.0065 * road.altitude_m / 288.15) ** 5.25588,
        "p": p,
        "lam": lam,
        "t0": 1000.0 * road.km / v,
        "modes": ex
        * np.array([(0.86 - s_d) * road.right, (0.86 - s_d) * (1.0 - road.right), 0.14, s_d]),
        "e_m": 0.18 * (1.0 - g_t) + 0.08 * ex,
        "car": car,
    }


RUBBER = 713.0
"""Effusivity of rubber, rounded as the package has it."""


def plain_run(tab, spec, tread, edge, t_t, t_b, per_k, target_kpa):
    """Return state, grip, hazard after a stage: arrays (P, S, 3) and (P, S) by corner."""
    c, p = spec.compound, tab["p"]
    m00, m01, m10, m11 = tab["m"]
    far = 51.6 - c.tg_c
    scale = 17.44 * 51.6 / c.beta_c
    worn = tab["rubber"] * c.k_c_mm3_j / (3.0 * spec.land_mm2)
    done = []
    for i in range(4):
        warm = wear = 0.0
        for n in range(3):
            now = m00[n] * t_t[i] + m01[n] * t_b[i] + tab["tread_off"][i, n]
            x = scale / (np.maximum(now, c.tg_c + 5.0) + far) - scale / (far + c.t_opt_c)
            warm = warm + np.exp(-x * x)
            hot = np.maximum(now - c.t_hi_c, 0.0) * (c.a_hot / 10.0)
            wear = wear + np.exp(hot + np.maximum(c.t_lo_c - now, 0.0) * (c.a_cold / 10.0))
        end = m00[3] * t_t[i] + m01[3] * t_b[i] + tab["tread_off"][i, 3]
        bulk = m10 * t_t[i] + m11 * t_b[i] + tab["bulk_off"][i]
        hot_kpa = np.maximum((bulk + KELVIN) * per_k - tab["air_kpa"], 20.0)
        loss = wear * worn[i]
        dp = hot_kpa / target_kpa - 1.0
        lean = 0.5 * tab["asym"][i] - tab["camber"][i]
        w = np.stack([1.0 - lean - 0.4 * dp, 1.0 + 0.8 * dp, 1.0 + lean - 0.4 * dp], axis=-1)
        if w.min() < 0.2:
            w = np.maximum(w, 0.2)
            w *= 3.0 / w.sum(axis=-1, keepdims=True)
        depth = np.maximum(tread[i] - loss[..., None] * w, 0.0)
        down = loss[..., None] * (tab["edge"][:, i] * (-p.psi / spec.edge_length_mm))
        down[..., 2] *= w[..., 2]
        sharp = edge[i] * np.exp(down)
        mean = tread[i].mean(axis=-1)
        mu = warm * (p.mu * c.mu_peak / 3.0) * (1.0 - p.ed * np.maximum(0.0, 1.0 - mean / 5.0))
        stands = 1.0 - p.ee * (1.0 - np.minimum(edge[i][..., [2, 0, 1]], 1.05))
        hazard = (
            tab["hazard"][i] * c.cut * np.exp(np.maximum(0.0, 1.0 - mean / spec.tread_new_mm))
        )
        hazard *= (target_kpa / hot_kpa) ** 2 * np.where(hot_kpa < spec.bead_min_kpa, 3.0, 1.0)
        done.append((depth, sharp, end, bulk, mu[..., None] * stands, hazard, loss, hot_kpa))
    return [np.stack(one) for one in zip(*done, strict=True)]


def plain_time(tab, mu, added_kg):
    """Return the stage time from grips (4, P, S, 3)."""
    car, lam = tab["car"], tab["lam"]
    rows = []
    for a in (0.5 * (1.0 + lam), 0.5 * (1.0 - lam)):
        front = a * mu[0, ..., 0] + (1.0 - a) * mu[1, ..., 0]
        rear = a * mu[2, ..., 0] + (1.0 - a) * mu[3, ..., 0]
        rows.append(0.5 * (front + rear) - 0.35 * np.abs(front - rear))
    for mode, b in ((1, car.brake_front_share), (2, car.drive_front_share)):
        left = b * mu[0, ..., mode] + (1.0 - b) * mu[2, ..., mode]
        right = b * mu[1, ..., mode] + (1.0 - b) * mu[3, ..., mode]
        rows.append(0.5 * (left + right) - 0.25 * np.abs(left - right))
    log = sum(s * np.log(r / tab["p"].mu) for s, r in zip(tab["modes"], rows, strict=True))
    return tab["t0"] * np.exp(-log) * (1.0 + added_kg / car.mass_kg) ** tab["e_m"]
