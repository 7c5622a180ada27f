"""Which tyre of a group goes where: always the same answer to the same question."""

from collections.abc import Sequence

from crewdesk.engine.evaluate import Fit
from crewdesk.engine.groups import Lineup, Tyre, is_left
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.tree import Tree
from crewdesk.regulations.predicates import axle_level


def named(
    plan: Valued,
    tree: Tree,
    lineup: Lineup,
    wanted: frozenset[str] = frozenset(),
    after: Sequence[int | None] = (),
) -> tuple[Fit, ...]:
    """Return the tyres of a plan by their canonical index.

    Parameters
    ----------
    plan : Valued
        Paths and groups.
    tree : Tree
        Where the paths live.
    lineup : Lineup
        Tyres.
    wanted : frozenset of str
        Tyres the crew fixed for the first fitting: of their group they are used first, so
        that one fixed for a loop without stages costs no tyre more.
    after : sequence
        By loop: the loop whose car holds all that is there for it, or None.

    Returns
    -------
    tuple of Fit
        One for each loop with stages.

    Notes
    -----
    Within a group the lowest number goes to the path that comes first: by loop, then
    FL FR RL RR SP1 SP2. A carried tyre is one that counts already where there is one.

    References
    ----------
    .. [1] Canonical order of this project.
    """
    free = {
        g.index: sorted(g.members, key=lambda t: lineup.tyres[t].tyre_id not in wanted)
        for g in lineup.groups
    }
    of_path: dict[int, int] = {}
    extra_left = dict(plan.extra)
    known: dict[int, list[int]] = {g.index: [] for g in lineup.groups}

    def take(group: int) -> int:
        tyre = free[group].pop(0)
        known[group] = sorted([*known[group], tyre])
        return tyre

    fits: list[Fit] = []
    for loop, corners in enumerate(plan.corners):
        for path in corners:
            if path not in of_path:
                of_path[path] = take(int(tree.leaf_group[path]))
        on = [of_path[p] for p in corners]
        carried: list[int] = []
        last = after[loop] if loop < len(after) else None
        aboard = set(fits[last]) if last is not None else set()
        nexts = [n for n, before in enumerate(after) if before == loop]
        soon = [p for n in nexts for p in plan.corners[n] if p not in corners]
        for group in plan.spares[loop]:
            resting = [t for t in known[group] if t not in on and t not in carried]
            called = {of_path[p] for p in soon if p in of_path}
            resting.sort(key=lambda t: (t not in called, t not in aboard))
            later = [
                p for p in plan.paths if p not in of_path and int(tree.leaf_group[p]) == group
            ]
            later.sort(key=lambda p: p not in soon)
            waits = bool(later) and later[0] in soon
            if resting and (resting[0] in called or not waits):
                carried.append(resting[0])
                continue
            if later:
                of_path[later[0]] = take(group)
                carried.append(of_path[later[0]])
                continue
            extra_left[group] = extra_left.get(group, 0) - 1
            carried.append(take(group))
        carried = sorted(carried) + [-1] * (2 - len(carried))
        carried = _as_locked(carried, lineup) if loop == 0 else carried
        fits.append((on[0], on[1], on[2], on[3], carried[0], carried[1]))
    return tuple(fits)


def _as_locked(carried: list[int], lineup: Lineup) -> list[int]:
    """Return the carried tyres with one fixed to SP1 or SP2 where the crew fixed it."""
    one, two = carried
    forced = [lineup.tyres[t].forced if t >= 0 else None for t in carried]
    if forced[0] == "SP2" or (forced[1] == "SP1"):
        one, two = two, one
    return [one, two]


def fill_quiet(
    problem: Problem,
    lineup: Lineup,
    busy: Sequence[tuple[int, Fit]],
    place: int,
    last: Fit | None = None,
) -> Fit | None:
    """Return the fitting of a loop without stages.

    Parameters
    ----------
    problem : Problem
        The question.
    lineup : Lineup
        Tyres.
    busy : sequence of (int, Fit)
        Number of the place and fitting of every loop with stages.
    place : int
        Number of the place, among ``problem.places``.
    last : Fit, optional
        Fitting at the place before.

    Returns
    -------
    Fit or None
        None where the rules leave none.

    Notes
    -----
    Tyres that cost nothing more come first: those counted by then, then those that the
    plan uses later, then others; among equals the natural order of ids. At a remote place
    nothing changes, and before one goes on what the loop behind it has.

    References
    ----------
    .. [1] Common practice, no source.
    """
    before = {t for at, fit in busy if at < place for t in fit if t >= 0}
    places = problem.places
    if place > 0 and places[place].remote and last is not None:
        return last
    follows = place + 1 < len(places) and places[place + 1].remote
    if follows and place > 0:
        for at, ahead in busy:
            if at == place + 1:
                return ahead
    hub = {t for _, fit in busy for t in fit[:4]}
    used = {t for _, fit in busy for t in fit if t >= 0}

    def rank(tyre: Tyre) -> tuple[int, int]:
        on_hub = tyre.given.ever_fitted or tyre.index in hub
        if on_hub and (tyre.counted or tyre.index in before):
            return (0, tyre.index)
        if on_hub and tyre.index in used:
            return (1, tyre.index)
        if tyre.counted or tyre.index in used:
            return (2, tyre.index)
        return (3, tyre.index)

    open_ = [t for t in lineup.tyres if t.usable and t.first_place <= place]
    ranked = sorted(open_, key=rank)
    for allowed in ({"ok"}, {"ok", "warn"}):
        for worst in range(4):
            pool = [t for t in ranked if rank(t)[0] <= worst]
            fit = _fill(problem, pool, busy, place, allowed)
            if fit is not None:
                return fit
    return None


def _fill(
    problem: Problem,
    pool: list[Tyre],
    busy: Sequence[tuple[int, Fit]],
    place: int,
    allowed: set[str],
) -> Fit | None:
    """Return the first fitting of a pool that the rules allow."""
    locks = problem.choices.locks if place == 0 else {}
    sides: dict[int, set[bool]] = {}
    for _, fit in busy:
        for corner in range(4):
            sides.setdefault(fit[corner], set()).add(is_left(corner))
    chosen: list[Tyre] = []
    corners = ("FL", "FR", "RL", "RR")

    def fits(tyre: Tyre, corner: int) -> bool:
        if tyre in chosen or corner not in tyre.corners:
            return False
        wanted = locks.get(corners[corner])  # type: ignore[call-overload]
        if wanted is not None and tyre.tyre_id != wanted:
            return False
        elsewhere = tyre.tyre_id in {t for p, t in locks.items() if p != corners[corner]}
        if elsewhere:
            return False
        if tyre.one_side and sides.get(tyre.index, set()) - {is_left(corner)}:
            return False
        if corner % 2 == 1:
            beside = chosen[corner - 1].given.stock
            return axle_level(beside, tyre.given.stock, problem.rules) in allowed
        return True

    def go(corner: int) -> bool:
        if corner == 4:
            return True
        for tyre in pool:
            if fits(tyre, corner):
                chosen.append(tyre)
                if go(corner + 1):
                    return True
                chosen.pop()
        return False

    if not go(0):
        return None
    spares = [t for t in pool if t not in chosen and t.tyre_id in locks.values()]
    for tyre in pool:
        if len(spares) >= max(problem.rules.spare_min, len(spares)):
            break
        if tyre not in chosen and tyre not in spares:
            spares.append(tyre)
    if len(spares) < problem.rules.spare_min:
        return None
    carried = [t.index for t in spares[:2]] + [-1] * (2 - len(spares[:2]))
    on = [t.index for t in chosen]
    return (on[0], on[1], on[2], on[3], carried[0], carried[1])
