"""The surface of a stage from what a crew knows about the road."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from crewdesk.physics.surface_params import (
    StageSurface,
    SurfaceParams,
    blend,
    mixed_stage,
    swept_share,
    with_kap,
)

__all__ = [
    "ROUGHNESS",
    "StageSurface",
    "SurfaceParams",
    "blend",
    "mixed_stage",
    "stage_roughness",
    "stage_surface",
    "swept_share",
]

ROUGHNESS: Final = {1: 0.15, 2: 0.30, 3: 0.45, 4: 0.65, 5: 0.85}
"""R of the five grades of roughness. Tuning values of this project."""

_WORDS: Final = {
    "standing_water": "standing",
    "slush": "snow",
    "frost_patches": "frozen",
    "swept": "dry",
}
"""Words a crew uses for a state, and the state they mean."""

FROZEN_ICE_SHARE: Final = {"gravel": 0.5, "asphalt": 0.2}
"""Ice on a frozen road. Tuning values of this project."""

_PLAIN_DRY: Final = {
    "gravel": "gravel_hard",
    "asphalt": "asphalt_smooth",
    "snow": "snow",
    "ice": "ice",
}


def _asphalt_dry(classes: Mapping[str, SurfaceParams], abrasion: int) -> SurfaceParams:
    """Return dry asphalt: smooth up to grade 2, abrasive from 4, half and half at 3."""
    share = 0.0 if abrasion <= 2 else 1.0 if abrasion >= 4 else 0.5
    return blend(classes["asphalt_smooth"], classes["asphalt_abras"], share)


def _base(
    classes: Mapping[str, SurfaceParams],
    surface: str,
    state: str,
    abrasion: int,
    holds_water: float,
) -> SurfaceParams:
    """Return the class of a road in a state, before rock and loose parts."""
    if surface in {"snow", "ice"}:
        return classes[
            "ice" if state == "ice" or (surface, state) == ("ice", "dry") else "snow"
        ]
    if state in {"snow", "ice"}:
        return classes[state]
    if surface == "gravel":
        hard = classes["gravel_hard"]
        wet = classes["gravel_wet"]
        return {
            "dry": hard,
            "dry_loose": classes["gravel_loose"],
            "bedrock": classes["gravel_rock"],
            "damp": classes["gravel_damp"],
            "wet": wet,
            "standing": wet,
            "muddy": replace(wet, name="gravel_muddy", mu=wet.mu - 0.05),
            "frozen": blend(hard, classes["ice"], FROZEN_ICE_SHARE["gravel"]),
        }[state]
    wet = classes["asphalt_wet"]
    standing = classes["asphalt_standing"]
    if state == "frozen":
        return blend(
            _asphalt_dry(classes, abrasion), classes["ice"], FROZEN_ICE_SHARE["asphalt"]
        )
    if state in {"dry", "dry_loose", "bedrock"}:
        return _asphalt_dry(classes, abrasion)
    return {
        "damp": classes["asphalt_damp"],
        "wet": blend(wet, standing, holds_water),
        "standing": standing,
        "muddy": replace(wet, name="asphalt_muddy", mu=wet.mu - 0.05),
    }[state]


def _with_rock(
    classes: Mapping[str, SurfaceParams], base: SurfaceParams, state: str, rough: float
) -> SurfaceParams:
    """Return gravel with its rock, where the ground is bare."""
    rock = float(np.clip((rough - 0.45) / 0.40, 0.0, 1.0))
    if state in {"snow", "ice"}:
        return base
    if state == "frozen":
        bare = blend(classes["gravel_hard"], classes["gravel_rock"], rock)
        return blend(bare, classes["ice"], FROZEN_ICE_SHARE["gravel"])
    return blend(base, classes["gravel_rock"], rock)


def stage_roughness(surface: str, roughness: int, pass_no: int, *, broken: bool) -> float:
    """Return R of a stage after the passes before ours.

    Parameters
    ----------
    surface : str
        Road: gravel, asphalt, snow or ice.
    roughness : int
        Grade of the road itself, 1 to 5.
    pass_no : int
        How often the road has been run at the event, this run included.
    broken : bool
        Broken asphalt: 0.2 more.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        If the grade is not 1 to 5 or the pass below 1.

    Notes
    -----
    Each earlier pass adds 0.15 up to 0.9; a road that is rougher than that keeps its own.

    References
    ----------
    .. [1] Tuning values of this project.

    Examples
    --------
    >>> round(stage_roughness("gravel", 3, 2, broken=False), 2)
    0.6
    """
    if roughness not in ROUGHNESS:
        raise ValueError(f"roughness must be a grade from 1 to 5, not {roughness}")
    if pass_no < 1:
        raise ValueError(f"the pass must be 1 or more, not {pass_no}")
    own = ROUGHNESS[roughness] + (0.2 if broken and surface == "asphalt" else 0.0)
    return min(1.0, max(own, min(0.9, own + 0.15 * (pass_no - 1))))


def stage_surface(
    surface: str,
    state: str,
    roughness: int,
    abrasion: int,
    pass_no: int,
    cars_ahead: int,
    swept: bool,
    gravel_share: float,
    broken: bool,
    holds_water: float,
    *,
    classes: Mapping[str, SurfaceParams],
) -> StageSurface:
    """Return the surface of a stage from what a crew knows about it.

    Parameters
    ----------
    surface : str
        Road: gravel, asphalt, snow or ice.
    state : str
        dry, damp, wet, standing, muddy, frozen, snow or ice; also dry_loose, swept,
        bedrock, standing_water, slush, frost_patches.
    roughness, abrasion : int
        Grades of the road itself, 1 to 5.
    pass_no : int
        How often the road has been run at the event, this run included.
    cars_ahead : int
        Cars that run before ours on this pass.
    swept : bool
        The crew says that the loose stones are gone.
    gravel_share : float
        Share of an asphalt stage that is packed gravel; without meaning on other roads.
    broken : bool
        Broken asphalt.
    holds_water : float
        Share of the length that stands in water when the road is wet.
    classes : mapping of str to SurfaceParams
        The surface classes by name.

    Returns
    -------
    StageSurface
        Numbers after all blends.

    Raises
    ------
    ValueError
        If surface, state or a grade is unknown.

    Notes
    -----
    Order of the blends:

    1. the class of road and state. Asphalt: smooth up to abrasion 2, abrasive from 4,
       half and half at 3. Frozen gravel is half hard gravel, half ice; frozen asphalt
       (frost patches) has one fifth ice. Standing water on gravel is wet gravel. Mud has
       0.05 less grip than the wet class. A road of snow stays snow in every state but
       ice, a road of ice is ice when dry or ice, else snow;
    2. gravel only: rock by ``clip((R - 0.45) / 0.40, 0, 1)`` of the bare ground: all of
       it where it is dry, damp, wet or muddy, the bare half where it is frozen, none
       under snow or ice;
    3. dry gravel only, on the first pass and unless swept: loose stones by
       ``exp(-n / 15)`` with n cars ahead;
    4. asphalt only: `gravel_share` of the class of gravel in the same state, without
       rock or loose stones;
    5. abrasiveness times ``exp(0.25 (abrasion - 3))``.

    On a dry road stage time and speed are as given, in another state they scale with the
    grip of step 1 against the plain dry class, both without rock or loose stones.

    Why without the rock: the class of rock has the grip of dry rock. Taken into the
    comparison it would make a rocky road faster in the rain than in the dry, since the
    plain dry class it is held against has no rock. So water costs a rocky road in time
    what it costs the hard base, while wear and edges still follow the rock. And rock
    under snow or ice is touched by no tyre: it would otherwise lend the grip of bare dry
    rock to a covered road and take the studs' advantage away. Roughness R stays, whatever
    lies on top.

    References
    ----------
    .. [1] Tuning values of this project; the words are common practice, no source.
    """
    if surface not in _PLAIN_DRY:
        raise ValueError(f"unknown surface {surface!r}")
    if abrasion not in ROUGHNESS:
        raise ValueError(f"abrasion must be a grade from 1 to 5, not {abrasion}")
    meant = _WORDS.get(state, state)
    rough = stage_roughness(surface, roughness, pass_no, broken=broken)
    try:
        params = _base(classes, surface, meant, abrasion, holds_water)
        packed = _base(classes, "gravel", meant, abrasion, holds_water)
    except KeyError as error:
        raise ValueError(f"unknown state or class of the surface: {error}") from error
    mu_dry = classes[_PLAIN_DRY[surface]].mu
    is_dry = meant in {"dry", "dry_loose", "bedrock"} and surface in {"gravel", "asphalt"}
    mu_state = mu_dry if is_dry else params.mu
    if surface == "gravel":
        params = _with_rock(classes, params, meant, rough)
        if meant == "dry" and state != "swept" and pass_no == 1 and not swept:
            params = blend(params, classes["gravel_loose"], 1.0 - swept_share(cars_ahead))
    if surface == "asphalt" and gravel_share > 0.0:
        params = blend(params, packed, gravel_share)
    return StageSurface(
        params=with_kap(params, float(np.exp(0.25 * (abrasion - 3)))),
        roughness_share=rough,
        cuts_added_share=0.2 if broken and surface == "asphalt" else 0.0,
        mu_state=mu_state,
        mu_dry=mu_dry,
    )
