"""The day book of a simulated crew: what they see goes in as entries, nothing else."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from crewdesk.desk.backtest.garage import Driven, Garage
from crewdesk.desk.backtest.truth import Truth
from crewdesk.desk.checks import judge_entry
from crewdesk.desk.replay import Fold, finish, fold_all, start
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.journal.entries import (
    AnyEntry,
    AsFound,
    Fitting,
    Incident,
    ReadBack,
    Reading,
    Report,
    RimMove,
    StageRun,
    StoredEntry,
)
from crewdesk.units import CORNERS, PLACES, Place


@dataclass(frozen=True)
class Seen:
    """What a crew knows at a change place."""

    bundle: EventBundle
    """Documents with the changes laid over them."""
    state: DayState
    place: ChangePlace
    now_utc: datetime


@dataclass(frozen=True)
class Choice:
    """What a policy puts on the car."""

    fitting: Mapping[Place, str | None]
    cold_kpa: Mapping[Place, float]
    rims: Mapping[Place, str]
    bring: tuple[str, ...] = ()
    """Wheels for the zone that comes next."""
    bring_rims: Mapping[str, str] = field(default_factory=dict)


class Notebook:
    """A day book in memory, filled by a simulated crew."""

    def __init__(self, bundle: EventBundle) -> None:
        self._fold: Fold = start(bundle)
        self._state = finish(self._fold)
        self._count = 0

    @property
    def state(self) -> DayState:
        """What the book says of the day."""
        return self._state

    @property
    def entries(self) -> tuple[StoredEntry, ...]:
        """All entries so far."""
        return self._fold.entries

    def seen(self, place: ChangePlace) -> Seen:
        """Return what is known at a place, at our due time IN."""
        return Seen(self._fold.ledger.bundle, self._state, place, place.due_in_utc)

    def loop_driven(self, driven: Driven) -> None:
        """Write down a loop: stage times, and punctures with what was done about them."""
        bodies: list[AnyEntry] = []
        for ref, seconds in driven.stage_s.items():
            stage = self._fold.ledger.bundle.itinerary.stage(ref)
            at = stage.due_utc + timedelta(seconds=seconds)
            bodies += [
                Incident(
                    at=at,
                    what="puncture",
                    corner=flat.corner,
                    where=ref,
                    tyre_off=flat.off,
                    tyre_on=flat.on,
                    changed_by="crew" if flat.on else "nobody",
                    time_lost_s=flat.lost_s,
                )
                for flat in driven.flats
                if flat.stage == ref
            ]
            bodies.append(StageRun(at=at, stage=ref, time_s=seconds))
        self._write(bodies)

    def car_in(
        self,
        place: ChangePlace,
        truth: Truth,
        garage: Garage,
        car: Mapping[Place, str | None] | None,
        *,
        ran: bool,
    ) -> None:
        """Write down what the crew reads at a place: ids, air, road, tread of what ran."""
        at = place.due_in_utc
        bodies: list[AnyEntry] = []
        if car is not None:
            bodies.append(AsFound(at=at, place=place.key, fitting=dict(car)))
        bodies.append(
            Report(
                at=at,
                place=place.key,
                air_c=truth.air_read_c(place.key),
                road_c=truth.road_read_c(place.key),
                rain_mm_h=truth.rain_at(place.key),
                surface=truth.state_at(place.key),
                confirmed=True,
            )
        )
        for corner in CORNERS if ran and car is not None else ():
            tyre_id = car[corner] if car is not None else None
            if tyre_id is None or garage.tyres[tyre_id].flat:
                continue
            read = [
                truth.gauge_mm(tyre_id, place.key, point, depth)
                for point, depth in enumerate(garage.tyres[tyre_id].tread_mm)
            ]
            bodies.append(
                Reading(
                    at=at,
                    tyre_id=tyre_id,
                    tread_in_mm=read[0],
                    tread_mid_mm=read[1],
                    tread_out_mm=read[2],
                    place=place.key,
                    confirmed=True,
                )
            )
        self._write(bodies)

    def refused(self, place: ChangePlace, choice: Choice) -> tuple[str, ...]:
        """Return the codes of the stopping rules that a fitting breaks."""
        judged = judge_entry(self._fold, self._state, self._fitting(place, choice))
        return tuple(m.code for m in judged.messages if m.level == "stops")

    def fit(self, place: ChangePlace, choice: Choice) -> None:
        """Write down a fitting, and that it was read back."""
        at = place.due_out_utc
        fitting = dict(choice.fitting)
        bodies: list[AnyEntry] = [
            RimMove(at=place.due_in_utc, tyre_id=tyre, rim_id=rim)
            for tyre, rim in choice.bring_rims.items()
            if rim and self._state.tyres[tyre].rim_id != rim
        ]
        bodies.append(self._fitting(place, choice))
        bodies.append(
            ReadBack(at=at, place=place.key, fitting=fitting, torque=CORNERS, name="crew")
        )
        self._write(bodies)

    def stay(self, place: ChangePlace, car: Mapping[Place, str | None]) -> None:
        """Write down that a car goes out as it came in."""
        self._write(
            [
                ReadBack(
                    at=place.due_out_utc,
                    place=place.key,
                    fitting=dict(car),
                    torque=CORNERS,
                    name="crew",
                )
            ]
        )

    def _fitting(self, place: ChangePlace, choice: Choice) -> Fitting:
        reports = [r.air_c for r in self._state.reports if r.air_c is not None]
        return Fitting(
            at=place.due_out_utc,
            place=place.key,
            fitting={p: choice.fitting.get(p) for p in PLACES},
            cold_kpa=dict(choice.cold_kpa),
            rims={p: rim for p, rim in choice.rims.items() if rim},
            set_at_c=reports[-1] if reports else None,
            bring=choice.bring,
            source="own",
        )

    def _write(self, bodies: list[AnyEntry]) -> None:
        stored = []
        for body in bodies:
            self._count += 1
            assert body.at is not None  # every entry here is made with its time
            stored.append(
                StoredEntry(
                    seq=self._count,
                    id=f"e{self._count}",
                    desk="backtest",
                    desk_seq=self._count,
                    after=(),
                    at_utc=body.at,
                    clock_offset_s=0.0,
                    kind=body.kind,
                    version=1,
                    body=body,
                )
            )
        self._fold = fold_all(self._fold, stored)
        self._state = finish(self._fold)
