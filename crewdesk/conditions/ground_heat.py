"""How the ground under a road stores heat: its surface through the day."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.conditions.road import (
    ANGULAR_PER_S,
    PSYCHROMETRIC_HPA_K,
    STEFAN_BOLTZMANN,
    Fluxes,
    Ground,
    net_flux_w_m2,
)
from crewdesk.units import ZERO_C_IN_K

Values = NDArray[np.float64]


class GroundColumns:
    """Several surfaces under their own fluxes, stepped together through time.

    Parameters
    ----------
    fluxes : Fluxes
        Arrays of shape (n_steps, n_columns).
    grounds : sequence of Ground
        One for each column.
    step_s : float
        Time step [s].

    Notes
    -----
    Force-restore: ``dts/dt = sqrt(2w)/I F(ts) - w (ts - tm)`` with w of one day, exact for one
    daily harmonic in deep uniform ground; one implicit step of Newton's kind for each time
    step, stable at any step.

    References
    ----------
    Bhumralkar 1975, J. Appl. Meteorol. 14:1246; Deardorff 1978, J. Geophys. Res. 83:1889
    (citations from memory, equation derived again).
    """

    def __init__(self, fluxes: Fluxes, grounds: Sequence[Ground], step_s: float) -> None:
        albedo = np.array([g.albedo for g in grounds])
        self._emitted = STEFAN_BOLTZMANN * np.array([g.emissivity for g in grounds])
        self._speed = np.sqrt(2.0 * ANGULAR_PER_S) / np.array([g.inertia for g in grounds])
        emissivity = np.array([g.emissivity for g in grounds])
        moisture = np.array([g.moisture for g in grounds])
        self._convection = np.asarray(fluxes.convection_w_m2k)
        self._wet = moisture * self._convection / PSYCHROMETRIC_HPA_K
        # Everything that does not depend on the surface, once for all steps.
        self._gain = (
            (1.0 - albedo) * fluxes.shortwave_w_m2
            + emissivity * fluxes.longwave_w_m2
            + self._convection * fluxes.air_c
            + self._wet * fluxes.vapour_hpa
        )
        self._any_wet = bool(np.any(moisture > 0.0))
        self.n_steps = self._gain.shape[0]
        self.step_s = step_s

    def step(self, index: int, surface_c: Values, mean_c: Values) -> Values:
        """Return the surfaces at the time of one row of fluxes, from those a step earlier."""
        kelvin = surface_c + ZERO_C_IN_K
        cube = self._emitted * kelvin * kelvin * kelvin
        convection = self._convection[index]
        flux = self._gain[index] - cube * kelvin - convection * surface_c
        slope = 4.0 * cube + convection
        if self._any_wet:
            shifted = 243.12 + surface_c
            wet = self._wet[index] * 6.112 * np.exp(17.62 * surface_c / shifted)
            flux -= wet
            slope += wet * (17.62 * 243.12) / (shifted * shifted)
        rate = self._speed * flux - ANGULAR_PER_S * (surface_c - mean_c)
        damping = self._speed * slope + ANGULAR_PER_S
        return np.asarray(surface_c + self.step_s * rate / (1.0 + self.step_s * damping))

    def day(self, surface_c: Values, mean_c: Values) -> tuple[Values, Values]:
        """Return the state at the time of every row of fluxes, and the last state."""
        states = np.empty_like(self._gain)
        for index in range(self.n_steps):
            # The step is implicit: the fluxes of a moment lead up to the state at that moment.
            surface_c = self.step(index, surface_c, mean_c)
            states[index] = surface_c
        return states, surface_c


def periodic_surface_c(columns: GroundColumns, start_c: Values) -> tuple[Values, Values]:
    """Return the surface temperature of a day that repeats itself.

    Parameters
    ----------
    columns : GroundColumns
        Steps of one whole day.
    start_c : ndarray, shape (n_columns,)
        First guess, for example the mean air temperature [°C].

    Returns
    -------
    surface_c : ndarray, shape (n_steps, n_columns)
        Temperature at the time of every row of fluxes [°C].
    mean_c : ndarray, shape (n_columns,)
        Its mean over the day: ``tm`` of the force-restore equation [°C].
    """
    mean_c = start_c.copy()
    state = start_c.copy()
    for _ in range(40):
        for _ in range(2):
            _, state = columns.day(state, mean_c)
        surface, state = columns.day(state, mean_c)
        moved = surface.mean(axis=0) - mean_c
        mean_c = mean_c + moved
        if float(np.max(np.abs(moved))) < 0.005:
            break
    return surface, mean_c


def steady_surface_c(fluxes: Fluxes, ground: Ground, mean_c: ArrayLike | None = None) -> Values:
    """Return the temperature at which a surface neither warms nor cools.

    Parameters
    ----------
    fluxes : Fluxes
        What reaches the surface, any shape.
    ground : Ground
        What the surface is.
    mean_c : array_like, optional
        Temperature of the ground under it; None: no heat flows down.

    Returns
    -------
    ndarray
        Root of ``sqrt(2w)/I F(ts) = w (ts - tm)``, or of ``F(ts) = 0`` [°C].
    """
    low = np.full(np.shape(fluxes.air_c), -150.0)
    high = np.full(np.shape(fluxes.air_c), 250.0)
    # The balance falls with the surface temperature everywhere, so halving cannot fail.
    for _ in range(60):
        middle = 0.5 * (low + high)
        rate = (
            np.sqrt(2.0 * ANGULAR_PER_S)
            / ground.inertia
            * net_flux_w_m2(np.maximum(middle, -90.0), fluxes, ground)
        )
        if mean_c is not None:
            rate = rate - ANGULAR_PER_S * (middle - np.asarray(mean_c))
        warm = rate > 0.0
        low = np.where(warm, middle, low)
        high = np.where(warm, high, middle)
    return np.asarray(0.5 * (low + high))
