"""Hot pressures aimed at on the stages just run."""

from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.itinerary import Stage
from crewdesk.physics.inflation import HOT_TARGET_KPA, pressure_kind
from crewdesk.physics.surface import stage_roughness


def target_of(stage: Stage) -> float:
    """Return the hot pressure aimed at on a stage [kPa]."""
    rough = stage_roughness(stage.surface, stage.roughness, stage.pass_no, broken=stage.broken)
    return float(HOT_TARGET_KPA[pressure_kind(stage.surface, float(rough))])


def hot_target_for_past(bundle: EventBundle, state: DayState) -> float | None:
    """Return the hot pressure aimed at on the loop just run, that of its longest stage."""
    run = [stage for stage in bundle.itinerary.stages if stage.ref in state.stages_run]
    if not run:
        return None
    loop = [stage for stage in run if stage.loop == run[-1].loop]
    return target_of(max(loop, key=lambda stage: (stage.km, -stage.index)))
