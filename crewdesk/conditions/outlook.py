"""The door: forecast and reports in, air, road and surface at every moment out."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from crewdesk.conditions.corrections import (
    correct_air,
    correct_road,
    draw_errors,
    spreads_c,
)
from crewdesk.conditions.film import film_state, freeze_state
from crewdesk.conditions.forecast import Outlook, read_outlook
from crewdesk.conditions.moments import STATES, Conditions, LiveReport, Moment
from crewdesk.conditions.parts import with_parts
from crewdesk.conditions.places import (
    Places,
    Site,
    find_places,
    find_site,
    ground_kind,
    is_about,
    reported_shades,
)
from crewdesk.conditions.road import AIR_TO_ROAD, vapour_pressure_hpa
from crewdesk.conditions.wetness import (
    MELT_K_H,
    Track,
    Wetness,
    rain_scenarios,
    run_films,
    still_frozen,
)
from crewdesk.documents.weather import Weather

DEW_LAPSE_K_KM: Final = 1.8
"""Fall of the dew point with height in lifted air. From memory, not verified."""
CALM_M_S: Final = 1.5
CLEAR_SHARE: Final = 0.3
INVERSION_RISE_KM: Final = 0.15
"""When to warn that the valley may be colder than the top. Tuning values of this project."""

Values = NDArray[np.float64]


def forecast_conditions(
    weather: Weather,
    moments: Sequence[Moment],
    reports: Sequence[LiveReport],
    *,
    now_utc: datetime,
    n_scenarios: int = 64,
    seed: int = 0,
    hold: LiveReport | None = None,
    hold_keys: Sequence[str] = (),
) -> Conditions:
    """Return air, road and surface at every moment, with how sure they are.

    Parameters
    ----------
    weather : Weather
        The table. Used are forecast rows issued not later than `now_utc`, for each hour the
        newest issue that has it. Observed rows are never used, whether before or after now:
        they are the truth of scripts and simulated days; what the crew saw comes as a report.
    moments : sequence of Moment
        Places and times; keys must differ.
    reports : sequence of LiveReport
        What somebody measured or saw; those later than `now_utc` are not looked at.
    now_utc : datetime
        The moment of the decision.
    n_scenarios : int
        Equally likely courses of the day; pairs of them cancel out, so that the mean of the
        air over an even number is the best estimate. The last of an odd number, and a single
        one, is the best estimate itself.
    seed : int
        Not negative; draws depend on it and on the moment's key alone.
    hold : LiveReport, optional
        Taken as true at `hold_keys`: what it gives is exact there.
    hold_keys : sequence of str
        Keys of the moments for `hold`.

    Returns
    -------
    Conditions
        In the order of `moments`; then a column for each part of a stage whose state was
        reported by itself, named in `Conditions.parts`.

    Raises
    ------
    ValueError
        If two moments share a key, there is no scenario, or the seed is negative.

    Notes
    -----
    Air: forecast of the site with most hours, moved by altitude (6.5 K/km by day, 4.0 by
    night, joined through twilight), corrected by readings (memory 6 h). Road: energy balance at
    that site, plus 0.85 K for each degree by which the place's air differs, corrected by road
    readings on the same kind of surface (memory 2 h). Water: film balance in every scenario.
    Road errors follow air errors by 0.85 and have a part of their own.
    """
    given = tuple(m.key for m in moments)
    if len(set(given)) != len(given):
        raise ValueError("two moments share a key")
    if n_scenarios < 1 or seed < 0:
        raise ValueError(f"{n_scenarios} scenarios, seed {seed}: not usable")
    if not moments:
        return _nothing(n_scenarios)
    heard = tuple(sorted((r for r in reports if r.at_utc <= now_utc), key=lambda r: r.at_utc))
    outlook = _outlook(weather, now_utc, heard, moments)
    site = find_site(outlook, moments)
    moments, parts = with_parts(moments, heard)
    keys = tuple(m.key for m in moments)
    places = find_places(
        site,
        [m.at_utc.timestamp() for m in moments],
        [m.altitude_m for m in moments],
        [m.surface for m in moments],
        [m.shade for m in moments],
    )
    messages: list[str] = []

    air_read = [r for r in heard if r.air_c is not None]
    road_read = [r for r in heard if r.road_c is not None]
    road_places = _places_of(site, road_read, moments)
    both_air, both_cov = correct_air(
        _joined(site, places, road_places),
        air_read,
        _places_of(site, air_read, moments),
        known=outlook.known,
        messages=messages,
    )
    n = len(moments)
    air_mean, air_cov = places.air_c + both_air[:n], both_cov[:n, :n]
    wetness, tracks = _run_water(site, places, road_places, heard, moments, n_scenarios, seed)
    road_air = road_places.air_c + both_air[n:]
    road_shift, road_cov = correct_road(
        places,
        road_read,
        road_places,
        _dry_road_c(site, road_places, road_air) + wetness.cooler_c[-1, n:],
        messages=messages,
    )
    air_sd, road_sd = spreads_c(places, air_cov, road_cov)
    air_error, road_error = draw_errors(
        keys, places, air_cov, road_cov, n_scenarios=n_scenarios, seed=seed
    )

    all_held = {*hold_keys, *(key for stage in hold_keys for key, _ in parts.get(stage, ()))}
    held = np.array([hold is not None and key in all_held for key in keys], dtype=np.bool_)
    if hold is not None and hold.air_c is not None:
        air_mean[held], air_sd[held], air_error[:, held] = hold.air_c, 0.0, 0.0
    dry = _dry_road_c(site, places, air_mean) + road_shift
    film, cooler = wetness.film_mm[:-1, :n], wetness.cooler_c[:, :n].copy()
    if hold is not None and hold.state is not None:
        cooler[:, held] = _cooler_in_state_c(site, places, hold.state)[held]
    air = air_mean + air_error
    road = dry + cooler[:-1] + road_error
    road_mean = dry + cooler[-1]
    # What the rain does to the road is drawn, not worked out: its spread comes on top.
    road_sd = np.sqrt(road_sd**2 + np.var(cooler[:-1], axis=0))

    dew = np.minimum(places.site.dew_c - DEW_LAPSE_K_KM * places.rise_km, air)
    state = freeze_state(film_state(film), film, road, vapour_pressure_hpa(dew))
    _keep_reported_states(site, places, tracks, dry, road_error, state)
    cold = (state == STATES.index("snow")) | (state == STATES.index("ice"))
    road = np.where(cold, np.minimum(road, 0.0), road)
    if hold is not None and hold.state is not None:
        state[:, held] = STATES.index(hold.state)
    if hold is not None and hold.road_c is not None:
        road[:, held], road_mean[held], road_sd[held] = hold.road_c, hold.road_c, 0.0
    messages.extend(_inversion_words(places, keys))
    return Conditions(
        keys,
        air,
        road,
        state,
        air_mean,
        air_sd,
        road_mean,
        road_sd,
        _shares(state),
        wetness.rain_mm_h[:-1, :n].copy(),
        assumed=(*outlook.assumed, *_uncovered_words(outlook, places, keys)),
        messages=tuple(messages),
        parts=parts,
    )


def _nothing(n_scenarios: int) -> Conditions:
    none, empty = np.zeros((n_scenarios, 0)), np.zeros(0)
    state = np.zeros((n_scenarios, 0), dtype=np.int64)
    return Conditions((), none, none, state, empty, empty, empty, empty, (), none)


def _outlook(
    weather: Weather, now_utc: datetime, heard: Sequence[LiveReport], moments: Sequence[Moment]
) -> Outlook:
    last = next((r for r in reversed(heard) if r.air_c is not None), None)
    return read_outlook(
        weather,
        now_utc,
        fallback_c=None if last is None else last.air_c,
        fallback_altitude_m=moments[0].altitude_m if last is None else last.altitude_m,
    )


def _places_of(site: Site, reports: Sequence[LiveReport], moments: Sequence[Moment]) -> Places:
    return find_places(
        site,
        [r.at_utc.timestamp() for r in reports],
        [r.altitude_m for r in reports],
        [r.surface for r in reports],
        reported_shades(reports, moments),
    )


def _joined(site: Site, first: Places, second: Places) -> Places:
    return find_places(
        site,
        [*first.at_s, *second.at_s],
        [*first.altitude_m, *second.altitude_m],
        [*first.surfaces, *second.surfaces],
        [*first.shade, *second.shade],
    )


def _dry_road_c(site: Site, places: Places, air_c: Values) -> Values:
    """Return the dry surface at places whose air differs from that of the forecast's site."""
    return places.surface_c(site.table, "dry") + AIR_TO_ROAD * (air_c - places.site.air_c)


def _cooler_in_state_c(site: Site, places: Places, state: str) -> Values:
    wetness = {"dry": "dry", "damp": "damp", "frozen": "damp"}.get(state, "wet")
    return places.surface_c(site.table, wetness) - places.surface_c(site.table, "dry")


def _run_water(
    site: Site,
    places: Places,
    road_places: Places,
    heard: Sequence[LiveReport],
    moments: Sequence[Moment],
    n_scenarios: int,
    seed: int,
) -> tuple[Wetness, list[Track]]:
    """Return film and cooling at moments and reported roads, and the track of each moment."""
    seen = [r for r in heard if r.state is not None]
    tracks: dict[Track, int] = {}
    wanted: list[tuple[int, float]] = []
    of_moment: list[Track] = []

    def want(where: Places, i: int, about: tuple[LiveReport, ...]) -> Track:
        # Whole degrees and hundredths of shade: places much alike share one film.
        warmer_c = AIR_TO_ROAD * float(where.air_c[i] - where.site.air_c[i])
        shade = round(float(where.shade[i]), 2)
        track = Track(where.surfaces[i], shade, about, float(round(warmer_c)))
        wanted.append((tracks.setdefault(track, len(tracks)), float(where.at_s[i])))
        return track

    for i, moment in enumerate(moments):
        about = tuple(r for r in seen if is_about(r, moment, moments))
        of_moment.append(want(places, i, about))
    for i, kind in enumerate(road_places.surfaces):
        common = tuple(r for r in seen if not r.stage and ground_kind(r.surface) == kind)
        want(road_places, i, common)
    points = np.array(site.outlook.points, dtype=np.float64)
    rain = rain_scenarios(
        site.table, points[:, 0], points[:, 3], heard, n_scenarios=n_scenarios, seed=seed
    )
    films = run_films(
        site.table, rain, tuple(tracks), wanted, first_s=float(points[0, 0]), seed=seed
    )
    return films, of_moment


def _keep_reported_states(
    site: Site,
    places: Places,
    tracks: Sequence[Track],
    dry_c: Values,
    road_error: Values,
    state: NDArray[np.int64],
) -> None:
    """Put mud, frost, snow and ice that somebody reported back where they still are."""
    wettish = (STATES.index("wet"), STATES.index("standing"))
    at_site = places.surface_c(site.table, "dry")
    for column, track in enumerate(tracks):
        at_s = float(places.at_s[column])
        last = next((r for r in reversed(track.reports) if r.at_utc.timestamp() <= at_s), None)
        if last is None or last.state is None:
            continue
        if site.table.index(at_s) == site.table.index(last.at_utc.timestamp()):
            # Seen with somebody's own eyes this minute.
            here = np.ones(len(state), dtype=np.bool_)
        elif last.state == "muddy":
            here = np.isin(state[:, column], wettish)
        elif last.state in MELT_K_H:
            surface_c = site.table.surface_mix_c(track.surface, "dry", track.shade)
            shift_c = dry_c[column] - at_site[column] + road_error[:, column]
            here = still_frozen(site.table, surface_c, shift_c, last, at_s)
        else:
            continue
        state[here, column] = STATES.index(last.state)


def _shares(state: NDArray[np.int64]) -> tuple[dict[str, float], ...]:
    shares = []
    for column in state.T:
        counts = np.bincount(column, minlength=len(STATES)) / len(column)
        shares.append({STATES[i]: float(c) for i, c in enumerate(counts) if c > 0.0})
    return tuple(shares)


def _uncovered_words(
    outlook: Outlook, places: Places, keys: tuple[str, ...]
) -> tuple[str, ...]:
    far = places.doubt > 1.0
    if not outlook.known or not bool(np.any(far)):
        return ()
    named = ", ".join(key for key, out in zip(keys, far, strict=True) if out)
    return (
        f"weather at {named}: no forecast for that hour, taken from the hours that have one",
    )


def _inversion_words(places: Places, keys: tuple[str, ...]) -> list[str]:
    """Return a warning for high or low places at dawn under a clear and calm sky."""
    still = (
        (places.elevation_deg > -12.0)
        & (places.elevation_deg < 8.0)
        & places.morning
        & (places.site.cloud_share <= CLEAR_SHARE)
        & (places.site.wind_m_s <= CALM_M_S)
        & (np.abs(places.rise_km) >= INVERSION_RISE_KM)
    )
    if not bool(np.any(still)):
        return []
    named = ", ".join(key for key, yes in zip(keys, still, strict=True) if yes)
    words = f"Clear and calm at dawn: the valley may be colder than the top ({named})."
    return [f"{words} Ask somebody who stands there."]
