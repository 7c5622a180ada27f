"""The last plan, kept for the next question: after a small change it is the first answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from crewdesk.engine.evaluate import Fit, fit_of
from crewdesk.engine.groups import REST, Lineup
from crewdesk.engine.plans import Valued
from crewdesk.engine.problem import Problem
from crewdesk.engine.result import LoopPlan
from crewdesk.engine.search import Search
from crewdesk.engine.tree import encode
from crewdesk.units import Place


@dataclass
class Memory:
    """Fittings of the last answer by change place; lives as long as its process."""

    fittings: dict[str, Mapping[Place, str | None]] = field(default_factory=dict)

    def keep(self, plan: tuple[LoopPlan, ...]) -> None:
        """Keep the plan of an answer."""
        if plan:
            self.fittings = {loop.place: dict(loop.fitting) for loop in plan}

    def fits(self, problem: Problem, lineup: Lineup) -> tuple[Fit, ...] | None:
        """Return the kept fittings for the places of a problem.

        Parameters
        ----------
        problem : Problem
            The question.
        lineup : Lineup
            Its tyres.

        Returns
        -------
        tuple of Fit or None
            None where a place is new or a tyre has gone.

        Notes
        -----
        Nothing is checked here: whether the plan still keeps the rules is asked of the
        checks, as for every plan.

        References
        ----------
        .. [1] Warm start (operations research textbooks).
        """
        try:
            return tuple(fit_of(lineup, self.fittings[place.key]) for place in problem.places)
        except KeyError:
            return None


def as_paths(search: Search, fits: Sequence[Fit]) -> Valued | None:
    """Return named fittings as a plan of a search, or None where a path is not open."""
    paths = []
    for t in sorted({t for fit in fits for t in fit[:4]}):
        steps = tuple(fit.index(t) if t in fit[:4] else REST for fit in fits)
        group = search.lineup.group_of[t]
        paths.append(-1 if group < 0 else search.tree.find(group, encode(steps)))
    return None if min(paths) < 0 else search.valuer.value(paths)
