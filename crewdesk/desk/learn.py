"""What the day has taught: wear, heat, grip, punctures and weather, for page and handover."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from crewdesk.desk.learn_channels import forecast_compared, heat_of, punctures_of
from crewdesk.desk.learn_grip import grip_of
from crewdesk.desk.learn_rates import rates_of
from crewdesk.desk.learn_runs import PastRuns
from crewdesk.desk.learn_warnings import forecast_warning
from crewdesk.desk.learn_wear import learn_wear_of
from crewdesk.desk.learnt import Learnt
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle


def learn(
    bundle: EventBundle,
    state: DayState,
    now_utc: datetime,
    past: PastRuns | None = None,
) -> Learnt:
    """Return everything that the readings so far have taught, for estimates and for the page.

    Parameters
    ----------
    bundle : EventBundle
        Documents with the changes laid over them.
    state : DayState
        The day so far.
    now_utc : datetime
        Moment whose reports and forecasts are known.
    past : PastRuns, optional
        The runs, where they are worked out already.
    """
    past = past or PastRuns(bundle, state, now_utc)
    learnt = learn_wear_of(past)
    forecast = forecast_compared(bundle, state)
    warnings = (*learnt.warnings, *forecast_warning(forecast))
    if not learnt.knows and not state.stages_run:
        return replace(learnt, forecast=forecast, warnings=warnings)
    heat = heat_of(past)
    grip = grip_of(past)
    punctures = punctures_of(past)
    sentences = [
        *(one.sentence for one in learnt.wear if one.readings),
        *(one.sentence for one in learnt.corners if one.readings and one.sentence),
        *(one.sentence for one in learnt.compared if one.questioned),
        *([heat.sentence] if heat.readings else []),
        *(one.sentence for one in grip),
        *([punctures.sentence] if punctures is not None else []),
    ]
    return replace(
        learnt,
        rates=rates_of(past, learnt),
        heat=heat,
        grip=grip,
        punctures=punctures,
        forecast=forecast,
        warnings=warnings,
        sentences=tuple(sentences),
    )


def disagreements(bundle: EventBundle, state: DayState, now_utc: datetime) -> tuple[str, ...]:
    """Return what to warn of on the call: readings and reports far from what was expected."""
    if not state.stages_run and not any(t.readings for t in state.tyres.values()):
        return forecast_warning(forecast_compared(bundle, state))
    learnt = learn_wear_of(PastRuns(bundle, state, now_utc))
    return (*learnt.warnings, *forecast_warning(forecast_compared(bundle, state)))


def sentences_of(learnt: Learnt) -> Sequence[str]:
    """Return warnings first, then what was learnt."""
    return (*learnt.warnings, *learnt.sentences)
