"""Cross checks of an itinerary: kilometres, times, paces, pairs, passes and printed loops."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from crewdesk.documents.faults import Findings
from crewdesk.documents.itinerary import Itinerary, ItineraryRow
from crewdesk.documents.itinerary_build import VISITS, road_of
from crewdesk.documents.itinerary_read import ITINERARY_FILE

TOTAL_STEP_KM: Final = 0.02
PACE_KMH: Final = (25.0, 50.0)
"""Pace on road sections that needs no second look; common practice, no source."""
SHORT_LIAISON_KM: Final = 3.0
STAGE_KMH: Final = (60.0, 115.0)
SLOW_SHARE: Final = 0.82
"""Targets allow for a car at this share of the expected average, plus a minute."""
STAGE_SHARE: Final = 0.25
"""Least share of stage km; FIA world council decisions for 2014, press report."""


def check_pairs(rows: Sequence[ItineraryRow], found: Findings) -> None:
    """Find every IN without its OUT, and every OUT without its IN."""
    open_row: ItineraryRow | None = None
    leaves = {entry: out for out, (entry, _kind) in VISITS.items()}
    for row in rows:
        if row.kind in leaves or row.kind == "regroup_in":
            # A regroup often ends on the very row where the service begins.
            if open_row is not None and open_row.kind != "regroup_in":
                _unpaired(open_row, found)
            open_row = row
        elif row.kind in VISITS or row.kind == "regroup_out":
            wanted = "regroup_in" if row.kind == "regroup_out" else VISITS[row.kind][0]
            if open_row is None or open_row.kind != wanted:
                found.fault(
                    ITINERARY_FILE,
                    f"{row.ref} is an OUT without its IN.",
                    f"Add the row of kind {wanted} above it.",
                    where=f"row {row.row}",
                    column="kind",
                    value=row.kind,
                )
            elif open_row.service != row.service:
                found.fault(
                    ITINERARY_FILE,
                    f"{open_row.ref} is IN of service {open_row.service or 'without letter'}, "
                    f"{row.ref} is OUT of {row.service or 'one without letter'}.",
                    "Give both rows of a visit the same letter.",
                    where=f"row {row.row}",
                    column="service",
                    value=row.service,
                )
            if row.kind in VISITS:
                _needs_time(row, found)
                if open_row is not None:
                    _needs_time(open_row, found)
            open_row = None
        elif row.kind in ("stage", "finish") and open_row is not None:
            _unpaired(open_row, found)
            open_row = None
    if open_row is not None:
        _unpaired(open_row, found)


def _needs_time(row: ItineraryRow, found: Findings) -> None:
    if row.first_car_due is None:
        found.fault(
            ITINERARY_FILE,
            f"{row.ref} has no time.",
            "Write when the first car is due, as 2026-05-16 09:34.",
            where=f"row {row.row}",
            column="first_car_due",
        )


def _unpaired(row: ItineraryRow, found: Findings) -> None:
    found.fault(
        ITINERARY_FILE,
        f"{row.ref} is an IN without its OUT.",
        f"Add the row of kind {row.kind.removesuffix('_in')}_out below it.",
        where=f"row {row.row}",
        column="kind",
        value=row.kind,
    )


def check_itinerary(itinerary: Itinerary, found: Findings) -> None:
    """Run every cross check that asks for a second look, and stop what cannot be."""
    _totals(itinerary, found)
    _times(itinerary, found)
    _paces(itinerary, found)
    _passes(itinerary, found)
    _loops(itinerary, found)
    stage_km = sum(stage.km for stage in itinerary.stages)
    road_km = sum(row.liaison_km or 0.0 for row in itinerary.rows)
    if road_km and stage_km / (stage_km + road_km) < STAGE_SHARE:
        found.note(
            f"{ITINERARY_FILE}: only {100 * stage_km / (stage_km + road_km):.0f} % of the "
            f"distance is stage; {100 * STAGE_SHARE:.0f} % is usual."
        )


def _totals(itinerary: Itinerary, found: Findings) -> None:
    stage_km = 0.0
    for row in itinerary.rows:
        if row.kind == "stage":
            stage_km = row.ss_km or 0.0
            continue
        if row.total_km is not None and row.liaison_km is not None:
            expected = row.liaison_km + stage_km
            if abs(expected - row.total_km) > TOTAL_STEP_KM:
                found.note(
                    f"{ITINERARY_FILE} row {row.row}: {row.ref} prints {row.total_km:.2f} km "
                    f"in all, liaison and stage add up to {expected:.2f} km."
                )
        if row.kind != "refuel":
            stage_km = 0.0


def _times(itinerary: Itinerary, found: Findings) -> None:
    last: ItineraryRow | None = None
    ours: datetime | None = None
    for row in itinerary.rows:
        if row.first_car_due is None:
            continue
        if row.kind == "refuel":
            found.note(
                f"{ITINERARY_FILE} row {row.row}: {row.ref} is a refuel with a time; "
                f"refuels usually carry none."
            )
        if last is not None and row.leg == last.leg and row.target_min is not None:
            due = last.first_car_due
            expected = due + timedelta(minutes=row.target_min) if due else row.first_car_due
            minutes = (row.first_car_due - expected).total_seconds() / 60
            if abs(minutes) > 0.5 and row.kind != "refuel":
                found.note(
                    f"{ITINERARY_FILE} row {row.row}: {row.ref} is due {abs(minutes):.0f} min "
                    f"{'later' if minutes > 0 else 'earlier'} than {last.ref} and its time "
                    f"allowed of {row.target_min:g} min give."
                )
        due_ours = itinerary.our_due(row)
        if ours is not None and due_ours is not None and due_ours < ours and last is not None:
            found.fault(
                ITINERARY_FILE,
                f"Our own time at {row.ref} would come before the one at {last.ref}.",
                f"Look at our positions of legs {last.leg} and {row.leg} in event.json.",
                where=f"row {row.row}",
                column="first_car_due",
            )
        if row.kind != "refuel":
            last, ours = row, due_ours


def _paces(itinerary: Itinerary, found: Findings) -> None:
    for stage in itinerary.stages:
        if not STAGE_KMH[0] <= stage.avg_kmh <= STAGE_KMH[1]:
            found.note(
                f"{ITINERARY_FILE}: {stage.ref} at {stage.avg_kmh:g} km/h; stages are usually "
                f"run at {STAGE_KMH[0]:g} to {STAGE_KMH[1]:g} km/h."
            )
    stage_min = 0.0
    for row in itinerary.rows:
        if row.kind == "stage":
            stage = itinerary.stage(row.ref)
            stage_min = 60 * stage.km / (SLOW_SHARE * stage.avg_kmh) + 1
            continue
        if row.kind == "refuel":
            continue
        km, target = row.liaison_km or 0.0, row.target_min
        if km > SHORT_LIAISON_KM and target is not None:
            road_min = target - stage_min
            # Judged as it is shown: 24.9 is 25, and 25 is usual.
            pace = round(60 * km / road_min) if road_min > 0 else float("inf")
            if not PACE_KMH[0] <= pace <= PACE_KMH[1]:
                found.note(
                    f"{ITINERARY_FILE} row {row.row}: {km:g} km to {row.ref} in {target:g} min "
                    + (
                        f"is {pace:.0f} km/h on the road"
                        if road_min > 0
                        else "leaves no time for the road"
                    )
                    + f"; {PACE_KMH[0]:g} to {PACE_KMH[1]:g} km/h is usual."
                )
        stage_min = 0.0


def _passes(itinerary: Itinerary, found: Findings) -> None:
    runs: dict[str, int] = defaultdict(int)
    for stage in itinerary.stages:
        road = road_of(stage.name)
        if not road:
            continue
        if runs[road] and stage.pass_no != runs[road] + 1:
            found.note(
                f"{ITINERARY_FILE}: {stage.ref} is pass {stage.pass_no} over {stage.name}, "
                f"the one before was pass {runs[road]}."
            )
        runs[road] = stage.pass_no


def _loops(itinerary: Itinerary, found: Findings) -> None:
    ends = {place.out_ref for place in itinerary.change_places}
    loop = 0
    differs: list[str] = []
    for row in itinerary.rows:
        if row.loop is not None and row.loop != loop:
            differs.append(f"row {row.row} {row.ref} (printed {row.loop}, is {loop})")
        loop += row.ref in ends
    if differs:
        found.note(
            f"{ITINERARY_FILE}: the loop column differs from the changes allowed: "
            f"{'; '.join(differs)}."
        )
