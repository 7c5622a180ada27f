"""What lies ahead of the wheels about to be fitted, worked out before they are entered."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from crewdesk.desk.ahead import Ahead
from crewdesk.desk.estimate import ahead_of
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.units import CORNERS, Place

KEEPS = timedelta(minutes=10)
"""So long the weather is taken to be as it was. Tuning value of this project."""


@dataclass(frozen=True)
class AheadTold:
    """What some stages will do to the wheels of one fitting."""

    wheels: Mapping[Place, str | None]
    stages: tuple[str, ...]
    at: datetime
    told: Mapping[str, Ahead]

    def of(
        self, fitting: Mapping[Place, str | None], stages: tuple[str, ...], at: datetime
    ) -> Mapping[str, Ahead] | None:
        """Return it for a fitting; None where it was worked out for something else."""
        same = all(fitting.get(c) == self.wheels.get(c) for c in CORNERS)
        return (
            self.told if same and stages == self.stages and abs(at - self.at) <= KEEPS else None
        )


def tell_ahead(
    bundle: EventBundle,
    state: DayState,
    place: str,
    fitting: Mapping[Place, str | None],
    now_utc: datetime,
) -> AheadTold:
    """Return what lies ahead of a fitting at a change place."""
    stages = stages_ahead(bundle, state, bundle.itinerary.place(place))
    wheels: dict[Place, str | None] = {c: fitting.get(c) for c in CORNERS}
    return AheadTold(wheels, stages, now_utc, ahead_of(bundle, state, wheels, stages, now_utc))


def stages_ahead(
    bundle: EventBundle, state: DayState, place: ChangePlace | None
) -> tuple[str, ...]:
    """Return the stages to the next change place that are still to run."""
    known = {stage.ref for stage in bundle.itinerary.stages} - set(state.stages_run)
    return tuple(ref for ref in place.stages if ref in known) if place is not None else ()
