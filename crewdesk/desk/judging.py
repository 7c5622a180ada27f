"""A plan the crew has in mind: read from a file, judged under the same model as the call."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import build_problem, moment_of, place_for
from crewdesk.desk.call_json import judge_document
from crewdesk.desk.state import DayState
from crewdesk.desk.words import (
    NO_BREACH,
    fitting_line,
    headline,
    risk_words,
    rule_words,
    time_words,
)
from crewdesk.documents.bundle import EventBundle
from crewdesk.engine.judge import judge
from crewdesk.engine.result import JudgeResult
from crewdesk.errors import DocumentError, EngineError
from crewdesk.units import CORNERS, PLACES, Place

GivenPlan = tuple[dict[str, Any], ...]
"""Loops in order; each with ``fitting`` by place and what else was given."""


def read_plan(text: str, name: str) -> GivenPlan:
    """Return the plan in a text: a whole call, its plan list, or one fitting.

    Raises
    ------
    DocumentError
        Where it is none of these.
    """
    try:
        raw = json.loads(text)
    except ValueError:
        raise DocumentError(
            f"{name} is not JSON.",
            hint="Give what call --json printed, its plan list, or one fitting.",
        ) from None
    if isinstance(raw, Mapping):
        if isinstance(raw.get("plan"), list) and raw["plan"]:
            raw = raw["plan"]
        elif "fitting" in raw:
            raw = [raw]
        elif set(raw) & set(CORNERS):
            raw = [{"fitting": raw}]
    if not isinstance(raw, list) or not raw:
        raise DocumentError(
            f"There is no fitting in {name}.",
            hint="Give what call --json printed, its plan list, or one fitting.",
        )
    return tuple(_loop(one, name, number) for number, one in enumerate(raw, start=1))


def _loop(raw: Any, name: str, number: int) -> dict[str, Any]:
    given = raw.get("fitting") if isinstance(raw, Mapping) else None
    if not isinstance(given, Mapping):
        raise DocumentError(
            f"Loop {number} in {name} has no fitting.",
            hint='Give each loop as {"fitting": {"FL": "H01", ...}}.',
        )
    unknown = sorted(set(given) - set(PLACES) - {"spares"})
    if unknown:
        raise DocumentError(
            f"Loop {number} in {name} names the place {unknown[0]}.",
            hint=f"Places: {', '.join(PLACES)}; or spares as a list.",
        )
    fitting: dict[Place, str | None] = {place: given.get(place) or None for place in PLACES}
    spares = given.get("spares")
    if spares is not None:
        if not isinstance(spares, Sequence) or isinstance(spares, str) or len(spares) > 2:
            raise DocumentError(
                f"The spares of loop {number} in {name} are no list of at most two.",
                hint='Write them as ["H05", "H06"].',
            )
        fitting["SP1"] = spares[0] if spares else None
        fitting["SP2"] = spares[1] if len(spares) > 1 else None
    for place, tyre in fitting.items():
        if tyre is not None and not isinstance(tyre, str):
            raise DocumentError(f"{place} of loop {number} in {name} is no tyre: {tyre!r}.")
    empty = [corner for corner in CORNERS if not fitting[corner]]
    if empty:
        raise DocumentError(
            f"Loop {number} in {name} leaves {' and '.join(empty)} empty.",
            hint="Name a tyre for each corner.",
        )
    return {**raw, "fitting": fitting}


def judge_at(
    bundle: EventBundle,
    state: DayState,
    options: CallOptions,
    plan: GivenPlan,
    *,
    has_book: bool,
) -> tuple[JudgeResult, dict[str, Any]]:
    """Return the judgement of a plan, and its document.

    Raises
    ------
    EngineError
        Where a tyre of the plan is unknown or the plan is longer than the event.
    """
    place = place_for(bundle, state, options.at)
    now_utc = moment_of(bundle, state, place, has_book)
    problem = build_problem(bundle, state, options, now_utc)
    for loop in plan:
        fitting: Mapping[Place, str | None] = loop["fitting"]
        for where, tyre in fitting.items():
            if tyre is not None and tyre not in state.tyres:
                raise EngineError(
                    f"{tyre} at {where} is not in the stock.",
                    hint="Use the crew's own tyre names, as in the stock table.",
                )
    if len(plan) > len(problem.places):
        raise EngineError(
            f"The plan has {len(plan)} loops; from {place.key} on there are "
            f"{len(problem.places)}.",
            hint="Name the change place it begins at with --at.",
        )
    judged = judge(problem, [loop["fitting"] for loop in plan])
    return judged, judge_document(bundle, state, problem, judged, now_utc)


def judged_words(bundle: EventBundle, state: DayState, judged: JudgeResult) -> list[str]:
    """Return a judgement as lines for the terminal."""
    lines = [bundle.event.name]
    if judged.completed:
        lines.append("Only the first fitting was given; the best plan behind it stands below.")
    for loop in judged.plan:
        lines.append(f"{loop.place}: {headline(state, loop.fitting)}")
        lines.append(f"  {fitting_line(state, loop.fitting, loop.rims)}")
        if loop.tread_end_mm:
            lines.append(f"  Stages {time_words(loop)} {risk_words(loop)}".rstrip())
    if judged.objective is not None:
        lines.append(
            f"Costs {judged.objective.total_s:.1f} s in all, tyres and risks included."
        )
    said = [rule_words(check) for check in judged.breaches]
    lines += said or [NO_BREACH]
    return lines
