"""Rows to an :class:`Itinerary`: stages, change places, loops and our own due times."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, Literal, cast

from crewdesk.documents.event import EventFile
from crewdesk.documents.faults import Findings
from crewdesk.documents.itinerary import ChangePlace, Itinerary, ItineraryRow, Stage
from crewdesk.documents.itinerary_read import ITINERARY_FILE

VISITS: Final[Mapping[str, tuple[str, Literal["service", "flexi", "zone"]]]] = {
    "service_out": ("service_in", "service"),
    "flexi_out": ("flexi_in", "flexi"),
    "tyre_zone_out": ("tyre_zone_in", "zone"),
}
"""By kind of an OUT row: the kind of its IN row and the kind of change place."""

# Where the itinerary says nothing about a stage. Tuning values of this project, common
# practice, no source: an ordinary, fairly twisty stage with little shade.
TWIST: Final = 0.6
RIGHT_SHARE: Final = 0.5
CUTS: Final[Mapping[str, float]] = {"gravel": 0.2, "asphalt": 0.4, "snow": 0.2, "ice": 0.2}
SHADE: Final = 0.3
GRADE: Final = 3
HOLDS_WATER: Final = 0.0
AVG_KMH: Final[Mapping[str, float]] = {
    "gravel": 85.0,
    "asphalt": 100.0,
    "snow": 85.0,
    "ice": 85.0,
}

_WORDS: Final[Mapping[str, tuple[str, str, float]]] = {
    "roughness": ("roughness", " of 5", 1),
    "abrasion": ("abrasion", " of 5", 1),
    "twist": ("twist", " of 1", 1),
    "right_share": ("turning to the right", " %", 100),
    "cuts": ("cuts", " of 1", 1),
    "shade": ("shade", " %", 100),
    "gravel_share": ("gravel", " %", 100),
    "holds_water": ("standing water when wet", " %", 100),
    "pass_no": ("pass", "", 1),
    "alt_start_m": ("altitude at the start", " m", 1),
    "alt_max_m": ("highest point", " m", 1),
    "alt_finish_m": ("altitude at the finish", " m", 1),
    "avg_kmh": ("our average", " km/h", 1),
}
"""By field of a stage: its name in words, what follows the number, and a factor on it."""


@dataclass(frozen=True)
class _Visit:
    """An OUT row where the team may change tyres, with its IN row."""

    in_row: ItineraryRow
    out_row: ItineraryRow
    kind: Literal["start", "service", "flexi", "zone"]
    key: str


def assumed_words(field: str, value: float) -> str:
    """Return an assumed value of a stage in words.

    >>> assumed_words("shade", 0.3), assumed_words("alt_max_m", 180)
    ('shade 30 %', 'highest point 180 m')
    """
    words, tail, factor = _WORDS[field]
    return f"{words} {round(factor * value, 6):g}{tail}"


def assumed_of(field: str, assumed: Sequence[str]) -> tuple[str, ...]:
    """Return which of the phrases of a stage say that this field is assumed."""
    words = f"{_WORDS[field][0]} " if field in _WORDS else "\0"
    return tuple(phrase for phrase in assumed if phrase.startswith(words))


def road_of(name: str) -> str:
    """Return the name of a stage without its pass number, in small letters.

    >>> road_of("Hestow Rise 2")
    'hestow rise'
    """
    return name.rstrip("0123456789 ").strip().lower()


def build_itinerary(
    rows: Sequence[ItineraryRow],
    event: EventFile,
    comments: tuple[str, ...],
    found: Findings,
) -> Itinerary | None:
    """Return the itinerary, or None after the faults that stop it."""
    before = len(found.faults)
    offsets = {leg.leg: leg.offset_min(event.due_reference) for leg in event.legs}
    for leg in sorted({row.leg for row in rows} - set(offsets)):
        found.fault(
            "event.json",
            f"Leg {leg} of the itinerary has no start position.",
            'Add it, as {"leg": 1, "position": 24, '
            '"gaps": [{"from_position": 2, "gap_min": 1}]}.',
            where="legs",
        )
    visits = _visits(rows, found)
    if not any(row.kind == "stage" for row in rows):
        found.fault(ITINERARY_FILE, "There is no stage.", "Add the rows of kind stage.")
    if len(found.faults) > before:
        return None
    loops = _loops(rows, visits)
    service_m = next((site.alt_m for site in event.sites if site.is_service), None)
    stages = _stages(rows, visits, loops, offsets, service_m)
    _group_assumed(stages, found)
    places = _places(rows, visits, loops, stages, offsets, event)
    return Itinerary(
        rows=tuple(rows),
        stages=tuple(stages),
        change_places=tuple(places),
        comments=comments,
        offsets_min=offsets,
    )


def _visits(rows: Sequence[ItineraryRow], found: Findings) -> list[_Visit]:
    """Return the visits that end a loop, in order; ``start`` where nothing comes before."""
    visits: list[_Visit] = []
    first_stage = next((i for i, row in enumerate(rows) if row.kind == "stage"), len(rows))
    for index, row in enumerate(rows):
        if row.tyre_change == "no":
            continue
        if row.kind == "start":
            visits.append(_Visit(row, row, "start", "start"))
            continue
        way = VISITS.get(row.kind)
        if way is None:
            found.fault(
                ITINERARY_FILE,
                f"{row.ref} allows a tyre change but is a row of kind {row.kind}.",
                "Write it on the OUT row of a service, a flexi service or a tyre zone.",
                where=f"row {row.row}",
                column="tyre_change",
                value=row.tyre_change,
            )
            continue
        in_row = _in_row(rows, index, way[0])
        # Without its IN row the visit is named by the check of pairs; nothing to build here.
        if in_row is not None and row.first_car_due is not None:
            visits.append(_Visit(in_row, row, way[1], row.service or row.ref))
    if not visits or rows.index(visits[0].out_row) > first_stage:
        start = next((row for row in rows if row.kind == "start"), rows[0])
        visits.insert(0, _Visit(start, start, "start", "start"))
    seen: dict[str, _Visit] = {}
    for visit in visits:
        other = seen.setdefault(visit.key.upper(), visit)
        if other is not visit:
            found.fault(
                ITINERARY_FILE,
                f"Service {visit.key} is listed twice, at {other.out_row.ref} "
                f"and {visit.out_row.ref}.",
                "Give each visit a letter of its own.",
                where=f"row {visit.out_row.row}",
                column="service",
                value=visit.key,
            )
    return visits


def _in_row(rows: Sequence[ItineraryRow], out: int, kind: str) -> ItineraryRow | None:
    for row in reversed(rows[:out]):
        if row.kind == rows[out].kind or row.kind == "stage":
            return None
        if row.kind == kind and row.service == rows[out].service:
            return row
    return None


def _loops(rows: Sequence[ItineraryRow], visits: Sequence[_Visit]) -> dict[str, int]:
    """Return the loop of each row by reference: how many loop ends stand above it."""
    ends = {visit.out_row.ref for visit in visits}
    loops: dict[str, int] = {}
    count = 0
    for row in rows:
        loops[row.ref] = count
        count += row.ref in ends
    return loops


def _stages(
    rows: Sequence[ItineraryRow],
    visits: Sequence[_Visit],
    loops: Mapping[str, int],
    offsets: Mapping[int, float],
    service_m: float | None,
) -> list[Stage]:
    ends = {visit.out_row.ref for visit in visits}
    stages: list[Stage] = []
    passes: dict[str, int] = defaultdict(int)
    liaison_km = 0.0
    for row in rows:
        liaison_km += row.liaison_km or 0.0
        if row.ref in ends:
            liaison_km = 0.0
        if row.kind != "stage":
            continue
        road = road_of(row.name) or row.ref.lower()
        passes[road] = row.pass_no or passes[road] + 1
        stages.append(
            _stage(
                row,
                index=len(stages),
                loop=loops[row.ref],
                liaison_km=liaison_km,
                pass_no=passes[road],
                offset_min=offsets[row.leg],
                service_m=service_m,
            )
        )
        liaison_km = 0.0
    return stages


def _stage(
    row: ItineraryRow,
    *,
    index: int,
    loop: int,
    liaison_km: float,
    pass_no: int,
    offset_min: float,
    service_m: float | None,
) -> Stage:
    surface = row.surface or "gravel"
    known = [a for a in (row.alt_start_m, row.alt_max_m, row.alt_finish_m) if a is not None]
    altitude_m = sum(known) / len(known) if known else (service_m or 0.0)
    defaults: dict[str, Any] = {
        "roughness": GRADE,
        "abrasion": GRADE,
        "twist": TWIST,
        "right_share": RIGHT_SHARE,
        "cuts": CUTS[surface],
        "shade": SHADE,
        "gravel_share": 1.0 if surface == "gravel" else 0.0,
        "holds_water": HOLDS_WATER,
        "pass_no": pass_no,
        "alt_start_m": altitude_m,
        "alt_max_m": altitude_m,
        "alt_finish_m": altitude_m,
        "avg_kmh": AVG_KMH[surface],
    }
    given = {name: getattr(row, name) for name in defaults}
    blanks = [name for name, value in given.items() if value is None]
    values = {n: defaults[n] if v is None else v for n, v in given.items()}
    return Stage(
        ref=row.ref,
        index=index,
        leg=row.leg,
        loop=loop,
        name=row.name,
        km=row.ss_km or 0.0,
        surface=surface,
        broken=surface == "asphalt" and "broken" in row.note.lower(),
        liaison_before_km=round(liaison_km, 6),
        due_utc=cast("datetime", row.first_car_due) + timedelta(minutes=offset_min),
        assumed=tuple(assumed_words(n, defaults[n]) for n in blanks),
        **values,
    )


def _group_assumed(stages: Sequence[Stage], found: Findings) -> None:
    """Name each default once, with the stages it stands on."""
    refs: dict[str, list[str]] = defaultdict(list)
    for stage in stages:
        for phrase in stage.assumed:
            refs[phrase].append(stage.ref)
    for phrase, where in refs.items():
        on = "every stage" if len(where) == len(stages) else ", ".join(where)
        found.assume(f"{phrase[0].upper()}{phrase[1:]} on {on}.")


def _places(
    rows: Sequence[ItineraryRow],
    visits: Sequence[_Visit],
    loops: Mapping[str, int],
    stages: Sequence[Stage],
    offsets: Mapping[int, float],
    event: EventFile,
) -> list[ChangePlace]:
    places: list[ChangePlace] = []
    for visit in visits:
        loop = loops[visit.out_row.ref] + 1
        ins, outs = _our_due(visit.in_row, offsets), _our_due(visit.out_row, offsets)
        if ins is None or outs is None:
            continue
        stay = (outs - ins).total_seconds() / 60.0
        minutes = stay if visit.out_row.target_min is None else visit.out_row.target_min
        places.append(
            ChangePlace(
                key=visit.key,
                loop=loop,
                kind=visit.kind,
                leg=visit.out_row.leg,
                in_ref=visit.in_row.ref,
                out_ref=visit.out_row.ref,
                name=visit.in_row.name or visit.out_row.name,
                due_in_utc=ins,
                due_out_utc=outs,
                minutes=0.0 if visit.kind == "start" else minutes,
                stages=tuple(stage.ref for stage in stages if stage.loop == loop),
                altitude_m=_altitude_m(rows, visit, stages, event),
                remote=_is_remote(visit),
            )
        )
    return places


def _is_remote(visit: _Visit) -> bool:
    """Return whether the name or note of a visit calls it remote."""
    words = [part for row in (visit.in_row, visit.out_row) for part in (row.name, row.note)]
    return any("remote" in word.lower() for word in words)


def _our_due(row: ItineraryRow, offsets: Mapping[int, float]) -> datetime | None:
    if row.first_car_due is None:
        return None
    return row.first_car_due + timedelta(minutes=offsets[row.leg])


def _altitude_m(
    rows: Sequence[ItineraryRow], visit: _Visit, stages: Sequence[Stage], event: EventFile
) -> float:
    """Return the altitude of a visit: its site, else the stage ends on either side of it."""
    town = visit.in_row.name.split(",")[0].strip().lower()
    for site in event.sites:
        # A top or a weir that lends its village the name is no place of work.
        if site.is_service and town and site.name.lower().split()[0] == town.split()[0]:
            return site.alt_m
    services = [site for site in event.sites if site.is_service]
    if services and visit.kind != "zone":
        return services[0].alt_m
    here = rows.index(visit.out_row)
    order = {row.ref: i for i, row in enumerate(rows)}
    ends = [s.alt_finish_m for s in stages if order[s.ref] < here][-1:]
    ends += [s.alt_start_m for s in stages if order[s.ref] > here][:1]
    return sum(ends) / len(ends) if ends else 0.0
