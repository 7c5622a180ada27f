"""What bare ground takes out of studs."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crewdesk.physics.surface import FROZEN_ICE_SHARE

STUD_LIFE_KM: Final = 40.0
"""Kilometres on bare ground in which studs are used up. Common practice, no source."""

_COVERED: Final = frozenset({"snow", "ice"})


def bare_share(surface: str, state: str) -> float:
    """Return the share of a stage where studs stand on bare ground.

    Parameters
    ----------
    surface : str
        Road: gravel, asphalt, snow or ice.
    state : str
        State of the road.

    Returns
    -------
    float
        0 on snow and ice, 1 where there is neither.

    Notes
    -----
    Frozen roads have ice on the share that `surface.stage_surface` gives them.

    References
    ----------
    .. [1] Tuning values of this project.

    Examples
    --------
    >>> bare_share("gravel", "frozen")
    0.5
    """
    if surface in _COVERED or state in _COVERED or state == "slush":
        return 0.0
    if state in {"frozen", "frost_patches"}:
        return 1.0 - FROZEN_ICE_SHARE[surface]
    return 1.0


def stud_life_share(bare_km: ArrayLike) -> NDArray[np.float64]:
    """Return how much of the studs' life is used up.

    Parameters
    ----------
    bare_km : array_like
        Kilometres on bare ground. [km]

    Returns
    -------
    numpy.ndarray, float64
        0 for new studs; 1 and above: used up.

    Raises
    ------
    ValueError
        If a distance is negative.

    Notes
    -----
    .. math:: s = L_{bare} / 40 km

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> float(stud_life_share(10.0))
    0.25
    """
    km = np.asarray(bare_km, dtype=np.float64)
    if np.any(km < 0.0):
        raise ValueError("a distance on bare ground cannot be negative")
    return np.asarray(km / STUD_LIFE_KM)
