"""What a search knows so far."""

from dataclasses import dataclass, field

import numpy as np

from crewdesk.engine.plans import Valued


@dataclass
class Found:
    """What the search knows so far."""

    best: Valued | None = None
    bound_s: float = -np.inf
    complete: bool = False
    work: int = 0
    seen: dict[tuple[int, ...], Valued] = field(default_factory=dict)
    """Every plan valued, by its paths."""
    impossible: bool = False
    """No plan keeps all the rules."""

    @property
    def best_s(self) -> float:
        """Return what the best plan costs, infinity where there is none. [s]."""
        return np.inf if self.best is None else self.best.total_s

    def offer(self, plan: Valued) -> bool:
        """Take a plan; return whether it is the best so far."""
        self.seen[plan.paths] = plan
        if plan.total_s < self.best_s - 1e-12:
            self.best = plan
            return True
        return False
