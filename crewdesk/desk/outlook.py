"""From the itinerary and the crew's reports to what the weather is asked."""

import re
from collections.abc import Sequence
from datetime import datetime

from crewdesk.conditions.moments import LiveReport, Moment
from crewdesk.desk.answer import CallOptions
from crewdesk.desk.course import Course, Spot
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace, Stage
from crewdesk.journal.entries import Report

AERODROME = "METAR "
"""A report whose caller begins so is that of an aerodrome some way off."""
SHADED_SD_C = 0.5
AERODROME_SD_C = 1.53
"""Of a shaded thermometer; of an aerodrome 20 km off or more, in whole degrees. Common
practice, no source."""


def home(bundle: EventBundle) -> tuple[float, float, float]:
    """Return latitude, longitude and altitude of the service park, or of the first site."""
    sites = bundle.event.sites
    for site in sites:
        if site.is_service:
            return site.lat_deg, site.lon_deg, site.alt_m
    if sites:
        return sites[0].lat_deg, sites[0].lon_deg, sites[0].alt_m
    return 50.0, 10.0, 0.0


def road_kind(surface: str) -> str:
    """Return the kind of ground the road model knows for a stage's surface."""
    return "asphalt" if surface == "asphalt" else "gravel"


def place_surface(bundle: EventBundle, place: ChangePlace) -> str:
    """Return the ground that a road reading at a change place is about: that of its loop."""
    ahead = [s for s in bundle.itinerary.stages if s.loop >= place.loop]
    stages = ahead or list(bundle.itinerary.stages)
    return road_kind(stages[0].surface) if stages else "gravel"


def road_name(stage: Stage) -> str:
    """Return the name that all passes over one road share: that of the stage, uncounted."""
    return re.sub(r"\s+\d+$", "", stage.name).strip().lower()


def moments_of(
    bundle: EventBundle, stages: Sequence[Stage], places: Sequence[ChangePlace]
) -> tuple[Moment, ...]:
    """Return the moments at which the conditions are wanted: each stage and change place."""
    lat_deg, lon_deg, _ = home(bundle)
    moments = [
        Moment(
            key=stage.ref,
            at_utc=stage.due_utc,
            altitude_m=stage.altitude_m,
            surface=road_kind(stage.surface),
            shade=stage.shade,
            lat_deg=lat_deg,
            lon_deg=lon_deg,
            holds_water=stage.holds_water,
            road=road_name(stage),
            part_altitude_m={
                "start": stage.alt_start_m,
                "end": stage.alt_finish_m,
                "top": stage.alt_max_m,
            },
        )
        for stage in stages
    ]
    moments += [
        Moment(
            key=place.key,
            at_utc=place.due_in_utc,
            altitude_m=place.altitude_m,
            surface=place_surface(bundle, place),
            shade=0.0,
            lat_deg=lat_deg,
            lon_deg=lon_deg,
        )
        for place in places
    ]
    return tuple(moments)


def live_reports(bundle: EventBundle, state: DayState) -> tuple[LiveReport, ...]:
    """Return the crew's reports as the weather takes them."""
    course = Course(bundle.itinerary)
    return tuple(_live(bundle, state, course, report) for report in state.reports)


def _live(bundle: EventBundle, state: DayState, course: Course, report: Report) -> LiveReport:
    spot = course.spot(report.place)
    ahead = state.at_place or state.next_place
    if spot is None and ahead is not None and not report.place.strip():
        spot = course.spot(ahead)
    stage = _stage(bundle, spot)
    place = spot.place if spot is not None else None
    if stage is not None:
        altitude_m = {
            "start": stage.alt_start_m,
            "end": stage.alt_finish_m,
            "top": stage.alt_max_m,
        }.get(report.part, stage.altitude_m)
        surface = road_kind(stage.surface)
    else:
        altitude_m = place.altitude_m if place is not None else home(bundle)[2]
        first = bundle.itinerary.change_places
        surface = place_surface(bundle, place or first[-1]) if first else "gravel"
        for site in bundle.event.sites:
            if site.name.lower() == report.place.strip().lower():
                altitude_m = site.alt_m
    assert report.at is not None  # the fold fills it in
    return LiveReport(
        at_utc=report.at,
        altitude_m=altitude_m,
        surface=surface,
        air_c=report.air_c,
        road_c=report.road_c,
        rain_mm_h=report.rain_mm_h,
        state=report.surface,
        stage=stage.ref if stage is not None else "",
        road=road_name(stage) if stage is not None else "",
        part=report.part if stage is not None else "",
        share=report.share,
        confirmed=report.confirmed,
        air_sd_c=AERODROME_SD_C if report.caller.startswith(AERODROME) else SHADED_SD_C,
    )


def _stage(bundle: EventBundle, spot: Spot | None) -> Stage | None:
    if spot is None or spot.stage is None:
        return None
    known = {stage.ref: stage for stage in bundle.itinerary.stages}
    return known.get(spot.stage)


def option_report(
    bundle: EventBundle, place: ChangePlace, options: CallOptions, now_utc: datetime
) -> LiveReport | None:
    """Return what the options say of the weather, as a confirmed report at the place."""
    if options.air_c is None and options.road_c is None and options.surface is None:
        return None
    return LiveReport(
        at_utc=now_utc,
        altitude_m=place.altitude_m,
        surface=place_surface(bundle, place),
        air_c=options.air_c,
        road_c=options.road_c,
        state=options.surface,
        confirmed=True,
    )
