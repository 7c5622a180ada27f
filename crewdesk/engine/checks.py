"""Which rules a named plan keeps and which it breaks."""

import re
from collections.abc import Mapping, Sequence

from crewdesk.engine.counting import (
    JOKER,
    PRIOR,
    TOTAL,
    cap_key,
    limits_of,
    spans_of,
    used_of,
)
from crewdesk.engine.evaluate import Evaluated, Fit
from crewdesk.engine.groups import Lineup, Tyre, is_left, least_mm
from crewdesk.engine.limits import AXLES
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import RuleCheck
from crewdesk.regulations.predicates import (
    axle_differences,
    is_side_or_diagonal_mix,
    spare_covers,
)
from crewdesk.units import CORNERS, PLACES

_CODE = re.compile(r"\b[A-Z]{3,4}-\d\b")


def check_plan(
    problem: Problem,
    lineup: Lineup,
    fits: Sequence[Fit],
    evaluated: Evaluated | None,
    without_rim: Sequence[tuple[int, int]],
    busy: Sequence[int],
) -> tuple[RuleCheck, ...]:
    """Return what the rules say of every loop of a plan.

    Parameters
    ----------
    problem : Problem
        The question.
    lineup : Lineup
        Tyres.
    fits : sequence of Fit
        Fitting at every change place.
    evaluated : Evaluated, optional
        Cost of the loops with stages.
    without_rim : sequence of (int, int)
        Loop and tyre that find no rim.
    busy : sequence of int
        Numbers of the places whose loops have stages.

    Returns
    -------
    tuple of RuleCheck
        Breaches have level ``stops`` and are not ok; ``values["place"]`` names the place.

    Notes
    -----
    Codes are those of the message catalogue; ``LCK-1`` a lock, ``BAN-1`` a ban of the
    crew, ``DIR-1`` a tyre on a corner that its direction or its own lock does not allow,
    ``DUP-1`` a tyre in two places.

    References
    ----------
    .. [1] Regulation set of the event.
    """
    found: list[RuleCheck] = []
    tally = _Tally(problem, lineup)
    for number, fit in enumerate(fits):
        place = problem.places[number].key
        found.extend(_places(problem, lineup, number, fit, place))
        found.extend(_axles(problem, lineup, fit, place))
        found.append(_spare_count(problem, fit, place))
        found.extend(_spare_reach(problem, lineup, fit, place))
        if number > 0 and problem.places[number].remote:
            found.extend(_on_board(lineup, fits[number - 1], fit, place))
        found.extend(_makers(problem, lineup, fit, place))
        found.extend(tally.checks(number, fit, place))
    for loop, tyre in without_rim:
        found.append(
            RuleCheck(
                "RIM-1",
                "stops",
                False,
                f"no free rim of the right width for {lineup.tyres[tyre].tyre_id}",
                {"place": problem.places[loop].key, "tyre": lineup.tyres[tyre].tyre_id},
            )
        )
    if evaluated is not None:
        found.extend(_treads(problem, lineup, fits, evaluated, busy))
    found.extend(_money(problem, lineup, fits))
    return tuple(found)


def _places(
    problem: Problem, lineup: Lineup, number: int, fit: Fit, place: str
) -> list[RuleCheck]:
    """Return checks of single tyres in their places."""
    found: list[RuleCheck] = []

    def stop(code: str, text: str, tyre: Tyre | None, where: str) -> None:
        values: dict[str, object] = {"place": place, "position": where}
        if tyre is not None:
            values["tyre"] = tyre.tyre_id
        found.append(RuleCheck(code, "stops", False, text, values))

    for i, t in enumerate(fit):
        where = PLACES[i]
        if t < 0:
            if i < 4:
                stop("DUP-1", f"no tyre on {where}", None, where)
            continue
        tyre = lineup.tyres[t]
        if fit.index(t) != i:
            stop("DUP-1", f"{tyre.tyre_id} is in two places", tyre, where)
        if not tyre.usable:
            match = _CODE.search(tyre.why)
            code = match[0] if match else ("BAN-1" if "banned" in tyre.why else "QTY-5")
            stop(code, f"{tyre.tyre_id}: {tyre.why or 'not to be used'}", tyre, where)
        elif tyre.first_place > number:
            stop(tyre.late_code, f"{tyre.tyre_id} is not there yet", tyre, where)
        if i < 4 and i not in tyre.corners:
            stop("DIR-1", f"{tyre.tyre_id} is not made or locked for {where}", tyre, where)
    if number == 0:
        for where_, wanted in problem.choices.locks.items():
            have = fit[PLACES.index(where_)]
            if have < 0 or lineup.tyres[have].tyre_id != wanted:
                stop("LCK-1", f"{where_} is locked to {wanted}", None, where_)
        most = problem.max_wheels
        if most is not None:
            changed = sum(
                lineup.tyres[t].given.on_car != CORNERS[i]
                for i, t in enumerate(fit[:4])
                if t >= 0
            )
            if changed > most:
                stop("PLC-3", f"{changed} wheels to change, {most} can be done", None, "FL")
    return found


def _axles(problem: Problem, lineup: Lineup, fit: Fit, place: str) -> list[RuleCheck]:
    """Return checks of the axles."""
    if min(fit[:4]) < 0:
        return []
    stock = [lineup.tyres[t].given.stock for t in fit[:4]]
    found = []
    for one, two, word in AXLES:
        differs = axle_differences(stock[one], stock[two], problem.rules)
        levels = [level for _, level in differs]
        level = "block" if "block" in levels else ("warn" if "warn" in levels else "ok")
        text = f"{word}: {stock[one].compound} with {stock[two].compound}"
        values: Mapping[str, object] = {"place": place, "axle": word}
        grade = {"block": "stops", "warn": "watch", "ok": "note"}[level]
        found.append(RuleCheck("AXL-1", grade, level == "ok", text, values))
    mix = is_side_or_diagonal_mix(*stock)
    if mix and not problem.settings.mixes_ticked:
        pair = axle_differences(stock[0], stock[1], problem.rules)
        if any(level == "warn" for _, level in pair):
            text = f"{mix} mix, not ticked by the crew"
            found.append(RuleCheck("AXL-1", "stops", False, text, {"place": place}))
    return found


def _spare_count(problem: Problem, fit: Fit, place: str) -> RuleCheck:
    """Return the check of the number of spares."""
    n = sum(t >= 0 for t in fit[4:])
    low, high = problem.rules.spare_min, min(problem.rules.spare_max, 2)
    ok = low <= n <= high
    text = f"{n} spares, allowed {low} to {high}"
    level = "note" if ok else "stops"
    return RuleCheck("SPR-1", level, ok, text, {"place": place, "n": n})


def _spare_reach(problem: Problem, lineup: Lineup, fit: Fit, place: str) -> list[RuleCheck]:
    """Return checks of where the spares could stand in."""
    if min(fit[:4]) < 0:
        return []
    fitted = {c: lineup.tyres[fit[i]].given.stock for i, c in enumerate(CORNERS)}
    found = []
    for t in fit[4:]:
        if t < 0:
            continue
        tyre = lineup.tyres[t]
        can = spare_covers(tyre.given.stock, fitted, problem.rules)
        cannot = [c for c in CORNERS if c not in can]
        text = f"spare {tyre.tyre_id} fits every corner"
        if cannot:
            text = f"spare {tyre.tyre_id} cannot go on {', '.join(cannot)}"
        found.append(
            RuleCheck(
                "SPR-2",
                "watch" if cannot else "note",
                not cannot,
                text,
                {"place": place, "tyre": tyre.tyre_id, "cannot": cannot},
            )
        )
    return found


def _on_board(lineup: Lineup, before: Fit, fit: Fit, place: str) -> list[RuleCheck]:
    """Return the checks of a place that has only what is on board."""
    return [
        RuleCheck(
            "PLC-4",
            "stops",
            False,
            f"{lineup.tyres[t].tyre_id} is not on board at the remote place {place}",
            {"place": place, "tyre": lineup.tyres[t].tyre_id},
        )
        for t in fit
        if t >= 0 and t not in before
    ]


def _makers(problem: Problem, lineup: Lineup, fit: Fit, place: str) -> list[RuleCheck]:
    """Return the check that all tyres on board are of one maker, where the rules want it."""
    makers = sorted({lineup.tyres[t].given.stock.maker for t in fit if t >= 0})
    if not problem.rules.maker_locked or len(makers) < 2:
        return []
    text = f"tyres of {' and '.join(makers)}; all must be of one maker"
    return [RuleCheck("QTY-5", "stops", False, text, {"place": place})]


class _Tally:
    """Counts tyres against the limits as a plan goes on."""

    def __init__(self, problem: Problem, lineup: Lineup) -> None:
        self._lineup = lineup
        self._limits = limits_of(problem.rules)
        self._used = used_of(problem)
        self._new = dict.fromkeys(self._limits, 0)
        self._spans = spans_of(problem)
        self._in_span = [0] * len(self._spans)
        self._carried_counts = problem.rules.count_rule == "fitted_or_carried"
        self._seen: set[int] = set()

    def checks(self, number: int, fit: Fit, place: str) -> list[RuleCheck]:
        """Return the checks of one place: what was counted there, and all at the first."""
        drawn: dict[str, int] = {}
        for i, t in enumerate(fit):
            if t < 0 or t in self._seen:
                continue
            keys = [
                key
                for key in self._lineup.tyres[t].draws_on
                if i < 4 or self._carried_counts or key == JOKER
            ]
            if keys:
                self._seen.add(t)
            for key in keys:
                drawn[key] = drawn.get(key, 0) + 1
        found = []
        for key, limit in self._limits.items():
            self._new[key] += drawn.get(key, 0)
            quiet = key in {JOKER, PRIOR}
            if drawn.get(key) or (number == 0 and not quiet):
                found.append(self._of_limit(key, limit, place))
        for at, span in enumerate(self._spans):
            if number not in span.places:
                continue
            self._in_span[at] += drawn.get(TOTAL, 0)
            n = span.used + self._in_span[at]
            if drawn.get(TOTAL) or (number == 0 and span.used > span.limit):
                text = f"{n} of {span.limit} tyres counted {span.words}"
                found.append(
                    _of(n, span.limit, self._in_span[at], "QTY-1", text, {"place": place})
                )
        return found

    def _of_limit(self, key: str, limit: int, place: str) -> RuleCheck:
        """Return the check of one limit of the event."""
        n = self._used.get(key, 0) + self._new[key]
        values: dict[str, object] = {"place": place}
        if key == TOTAL:
            return _of(
                n, limit, self._new[key], "QTY-1", f"{n} of {limit} tyres counted", values
            )
        if key == JOKER:
            text = f"{n} of {limit} damage replacements used"
            return _of(n, limit, self._new[key], "JOK-2", text, values)
        name = "used before the event" if key == PRIOR else key.removeprefix(cap_key(""))
        values["compound"] = name
        text = f"{name}: {n} of {limit} used"
        return _of(n, limit, self._new[key], "QTY-2", text, values)


def _of(
    n: int, limit: int, new: int, code: str, text: str, values: Mapping[str, object]
) -> RuleCheck:
    """Return the check of a count; what history has broken alone does not stop a plan."""
    told = {**values, "used": n, "limit": limit}
    if n <= limit:
        return RuleCheck(code, "note", True, text, told)
    if new == 0:
        return RuleCheck(code, "watch", False, f"{text} already; this plan adds none", told)
    return RuleCheck(code, "stops", False, text, told)


def _treads(
    problem: Problem,
    lineup: Lineup,
    fits: Sequence[Fit],
    evaluated: Evaluated,
    busy: Sequence[int],
) -> list[RuleCheck]:
    """Return the checks of tread at the end of each loop with stages."""
    found = []
    for (loop, t), step in sorted(evaluated.steps.items()):
        tyre = lineup.tyres[t]
        place = problem.places[busy[loop]].key
        least = least_mm(problem.rules)
        mm = float(step.ends_mm.min())
        values: Mapping[str, object] = {
            "place": place,
            "tyre": tyre.tyre_id,
            "mm": mm,
            "limit": least,
            "below": step.below,
        }
        ok = step.room_mm >= -1e-9
        # Where a tenth would hide on which side of the limit it is, hundredths are told.
        told = f"{mm:.2f}" if abs(step.room_mm) < 0.1 else f"{mm:.1f}"
        text = f"{tyre.tyre_id} {told} mm at the end of the loop, limit {least}"
        found.append(RuleCheck("TRD-1", "note" if ok else "stops", ok, text, values))
        if ok and step.below >= 0.1:
            text = f"{tyre.tyre_id} predicted {mm:.1f} mm, limit {least}"
            found.append(RuleCheck("TRD-2", "watch", False, text, values))
        sides = {is_left(f.index(t)) for f in fits if t in f[:4]}
        if tyre.one_side and len(sides) > 1:
            text = f"{tyre.tyre_id} would turn both ways"
            found.append(RuleCheck("DIR-1", "stops", False, text, values))
    return found


def _money(problem: Problem, lineup: Lineup, fits: Sequence[Fit]) -> list[RuleCheck]:
    """Return the check of the budget."""
    budget = problem.settings.budget
    if budget is None:
        return []
    fitted = {t for fit in fits for t in fit[:4] if t >= 0}
    spent = 0.0
    for t in fitted:
        given = lineup.tyres[t].given
        if given.stock.new and not given.ever_fitted:
            spent += float(given.stock.price or 0.0)
    ok = spent <= budget + 1e-9
    text = f"new tyres for {spent:.0f}, budget {budget:.0f}"
    values: Mapping[str, object] = {"spent": spent, "limit": budget, "place": ""}
    return [RuleCheck("BUD-1", "note" if ok else "stops", ok, text, values)]


def breaches(checks: Sequence[RuleCheck]) -> tuple[RuleCheck, ...]:
    """Return the checks that stop a plan."""
    return tuple(c for c in checks if c.level == "stops" and not c.ok)


def first_rules(problem: Problem, checks: tuple[RuleCheck, ...]) -> tuple[RuleCheck, ...]:
    """Return what the rules say of the next loop."""
    here = problem.places[0].key
    mine = [c for c in checks if c.values.get("place") in {here, ""}]
    codes = {c.code for c in mine}
    for code, text in (
        ("MRK-1", "every tyre carries its mark"),
        ("RIM-1", "every tyre has a rim"),
        ("DIR-1", "every tyre turns the right way"),
    ):
        if code not in codes:
            mine.append(RuleCheck(code, "note", True, text, {"place": here}))
    return tuple(mine)
