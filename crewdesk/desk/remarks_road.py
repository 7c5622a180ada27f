"""What is remarked upon spares that are gone, wheels nobody can place, and unforeseen rain."""

from datetime import datetime, timedelta

from crewdesk.desk.apply_incident import possible_on
from crewdesk.desk.case import RAIN_MM_H, SNOW_AIR_C, local
from crewdesk.desk.scene import NOTE, Scene
from crewdesk.documents.weather import WeatherRow
from crewdesk.journal.entries import Incident, Report
from crewdesk.regulations.predicates import ACROSS, axle_level
from crewdesk.regulations.rulebook import Message
from crewdesk.units import CORNERS, Corner, Place

CARRIED: tuple[Place, ...] = ("SP1", "SP2")
AIR_HOLDS = timedelta(hours=3)
"""Older air says nothing of what falls now. Tuning value of this project."""


def sound_spares(scene: Scene) -> list[str]:
    """Return the carried tyres that nothing speaks against."""
    car = scene.car()
    return [
        tyre
        for place in CARRIED
        if (tyre := car.get(place)) and scene.after.tyres[tyre].status == "ok"
    ]


def no_spare(scene: Scene) -> list[Message]:
    """Say that no sound spare is on board and where the next one can be had."""
    if sound_spares(scene) or not any(scene.car().values()):
        return []
    ahead = scene.after.next_place
    until = f" until {ahead}" if ahead else " up to the finish"
    least = scene.fold.ledger.rules().spare_min
    if least:
        return []  # the rule on the number of spares says it
    return [
        Message(
            NOTE,
            "note",
            f"No sound spare on board{until}. No breach: the event asks for none.",
            {"sound": 0, "until": ahead or ""},
        )
    ]


def no_spare_since(scene: Scene, tyre_id: str) -> list[Message]:
    """Say since when no sound spare was on board, where a carried one is found soft."""
    car = scene.car()
    carried = [car.get(place) for place in CARRIED]
    was_sound = scene.before.tyres[tyre_id].status == "ok"
    if tyre_id not in carried or not was_sound or sound_spares(scene):
        return []
    changes = [
        body.where
        for _, body in scene.after.incidents
        if body.tyre_on is not None and body.where and body.tyre_off in carried
    ]
    fitted = scene.after.fittings[-1].place if scene.after.fittings else "the start"
    since = changes[-1] if changes else fitted
    return [
        Message(
            "SPR-1",
            "watch",
            f"No sound spare on board since {since}.",
            {"sound": 0, "since": since},
        )
    ]


def axle_if(scene: Scene, incident: Incident) -> list[Message]:
    """Say which wheel would break the axle rule wherever it may have come on (AXL-1)."""
    car = scene.car()
    rules = scene.fold.ledger.rules()
    corners: tuple[Corner, ...] = CORNERS
    if incident.side is not None:
        ends = "L" if incident.side == "left" else "R"
        corners = tuple(c for c in CORNERS if c.endswith(ends))
    if incident.corner in CORNERS:
        corners = tuple(c for c in CORNERS if c == incident.corner)
    messages = []
    for tyre_id in possible_on(incident, car):
        stock = scene.after.tyres[tyre_id].stock
        beside = [
            scene.after.tyres[other].stock
            for corner in corners
            if (other := car.get(ACROSS[corner])) and other in scene.after.tyres
        ]
        if not beside or any(axle_level(stock, other, rules) != "block" for other in beside):
            continue
        names = " or ".join(other.tyre_id for other in beside)
        messages.append(
            Message(
                "AXL-1",
                "stops",
                f"If it is {tyre_id} that came on: {stock.maker} {stock.compound} beside "
                f"{names} is not allowed on one axle.",
                {"tyre": tyre_id, "beside": tuple(o.tyre_id for o in beside), "if": True},
            )
        )
    return messages


def snows(scene: Scene, body: Report) -> bool:
    """Return whether what falls is snow: by the air reported lately, else by the forecast."""
    at = body.at or scene.after.last_entry_at
    air_c = body.air_c
    if air_c is None and at is not None:
        heard = [
            report.air_c
            for report in scene.after.reports
            if report.air_c is not None
            and report.at is not None
            and timedelta(0) <= at - report.at <= AIR_HOLDS
        ]
        foreseen = [row.air_c for row in _newest(scene, at) if _is_hour_of(row, at)]
        air_c = heard[-1] if heard else foreseen[0] if foreseen else None
    return air_c is not None and air_c <= SNOW_AIR_C


def rain_unforeseen(scene: Scene, body: Report) -> list[Message]:
    """Say that it rains or snows, or stays dry, other than the forecast had it just now."""
    if body.rain_mm_h is None or scene.after.last_entry_at is None:
        return []
    at = body.at or scene.after.last_entry_at
    hours = _newest(scene, at)
    here = [row for row in hours if _is_hour_of(row, at)]
    if not here or here[0].rain_mm_h is None:
        return []
    rains, foreseen = body.rain_mm_h > RAIN_MM_H, here[0].rain_mm_h > RAIN_MM_H
    if rains == foreseen:
        return []
    later = [
        row.time_utc
        for row in hours
        if row.time_utc > at and (row.rain_mm_h or 0.0) > RAIN_MM_H
    ]
    dry = [
        row.time_utc
        for row in hours
        if row.time_utc > at and (row.rain_mm_h or 0.0) <= RAIN_MM_H
    ]
    falls, falling = ("snow", "snowing") if snows(scene, body) else ("rain", "raining")
    if rains:
        until = f"dry until {local(scene.bundle, later[0]):%H:%M}" if later else "dry"
        early = later[0] - at if later else None
        text = f"{falls.capitalize()} now; the forecast had it {until}"
    else:
        until = f"{falling} until {local(scene.bundle, dry[0]):%H:%M}" if dry else falling
        early = dry[0] - at if dry else None
        text = f"No {falls} now; the forecast had it {until}"
    if early is not None:
        text += f", {early.total_seconds() / 3600:.1f} h later"
    return [
        Message(
            "CND-1",
            "watch",
            f"{text}. Ask for the call again.",
            {"rain_mm_h": body.rain_mm_h, "forecast_mm_h": here[0].rain_mm_h},
        )
    ]


def _is_hour_of(row: WeatherRow, at: datetime) -> bool:
    return abs(row.time_utc - at) <= timedelta(minutes=31)


def _newest(scene: Scene, at: datetime) -> list[WeatherRow]:
    """Return the rows of the newest forecast known at a moment, of the lowest site."""
    known = [
        row
        for row in scene.bundle.weather.rows
        if row.source == "forecast" and (row.issued_utc is None or row.issued_utc <= at)
    ]
    if not known:
        return []
    site = min(known, key=lambda row: row.alt_m).site
    newest: dict[datetime, WeatherRow] = {}
    for row in sorted(known, key=lambda r: (r.issued_utc is not None, r.issued_utc or at)):
        if row.site == site:
            newest[row.time_utc] = row
    return [newest[when] for when in sorted(newest)]
