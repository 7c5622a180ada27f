"""Full foresight: what could have been made of a simulated day by somebody who knew it."""

from dataclasses import replace

from crewdesk.desk.backtest.garage import SPARES, Driven, Garage
from crewdesk.desk.backtest.notebook import Choice, Seen
from crewdesk.desk.backtest.policies import Engine, asked, choice_of
from crewdesk.desk.backtest.thumb import Accepts
from crewdesk.desk.backtest.truth import Truth
from crewdesk.documents.itinerary import ChangePlace
from crewdesk.engine.problem import Problem, TyreInput
from crewdesk.engine.result import LoopPlan
from crewdesk.physics.bands import MODEL_LN_SD
from crewdesk.units import CORNERS

WORK = 150
"""Units of search for one plan: with a single course of the day they are cheap."""
STONES_SHARE = 0.02
"""Of the table's punctures that a plan of somebody who knows the stones looks at: enough for
the wheels carried to fit where they may be needed. Tuning value of this project."""


class Foresight:
    """The engine given the day's true weather and wear, and the stones of the next loop.

    It carries a wheel where one will be needed and none where not, and plans again after a
    puncture. Where the true day leaves no plan without a tyre under the least tread, it takes
    the best that there is. What no single factor of a
    compound, stage or corner holds of a tyre's wear it does not plan with.
    """

    def __init__(
        self, engine: Engine, truth: Truth, garage: Garage, *, stones: bool = True
    ) -> None:
        self._engine = engine
        self._truth = truth
        self._garage = garage
        self._stones = stones
        """False: weather and wear are known, where the stones lie is not."""
        self._plan: tuple[LoopPlan, ...] = ()
        self._flats = 0
        self.open_s: float | None = None
        """By how much its first plan may be from the best one, as the search has proven. [s]"""

    def choose(self, seen: Seen, accepts: Accepts) -> Choice | None:
        """Return the fitting of the best plan for the true day."""
        flats = sum(tyre.flat for tyre in self._garage.tyres.values())
        held = self._held(seen.place, accepts) if flats == self._flats else None
        self._flats = flats
        if held is None:
            held = self._planned(self.problem(seen), None)
        if held is None or not self._stones:
            return held
        return self._with_wheels(seen, held, accepts)

    def _held(self, place: ChangePlace, accepts: Accepts) -> Choice | None:
        """Return what the plan has for a place, where it still keeps the rules."""
        at = [n for n, loop in enumerate(self._plan) if loop.place == place.key]
        choice = choice_of(self._plan, at[0]) if at else None
        return choice if choice is not None and accepts(choice) else None

    def _planned(self, problem: Problem, spares: int | None) -> Choice | None:
        """Plan from here on, and return the first fitting."""
        result = self._engine.answer(problem, work=WORK, spares=spares)
        if self.open_s is None and result.gap_s is not None:
            weight = problem.settings.worst_tenth_weight
            self.open_s = max(result.gap_s, 0.0) / (1.0 + weight)
        if not result.plan:
            return None
        self._plan = result.plan
        return choice_of(self._plan, 0)

    def _with_wheels(self, seen: Seen, held: Choice, accepts: Accepts) -> Choice:
        """Return a fitting with as many carried wheels as the stones of the loop ask for."""
        driven = self._tried(seen.place, held)
        if any(flat.on is None for flat in driven.flats):
            before, rules = self._plan, self._garage.rules
            wanted = min(max(len(driven.flats), rules.spare_min), rules.spare_max)
            other = self._planned(self.problem(seen), wanted)
            again = self._tried(seen.place, other) if other is not None else driven
            if other is not None and _cost_s(again) < _cost_s(driven) and accepts(other):
                held, driven = other, again
            else:
                self._plan = before
        lean = self._lean(held, driven)
        return lean if lean is not held and accepts(lean) else held

    def _lean(self, held: Choice, driven: Driven) -> Choice:
        """Return a fitting without the carried wheels that nobody will need."""
        used = {flat.on for flat in driven.flats}
        left = sorted(
            (place for place in SPARES if held.fitting.get(place) is not None),
            key=lambda place: held.fitting[place] in used,
        )
        few = max(len(left) - self._garage.rules.spare_min, 0)
        off = [place for place in left[:few] if held.fitting[place] not in used]
        if not off:
            return held
        return replace(
            held,
            fitting={p: None if p in off else t for p, t in held.fitting.items()},
            cold_kpa={p: kpa for p, kpa in held.cold_kpa.items() if p not in off},
            rims={p: rim for p, rim in held.rims.items() if p not in off},
        )

    def _tried(self, place: ChangePlace, choice: Choice) -> Driven:
        """Return a loop as it would be driven."""
        return self._garage.copy().drive(place, choice.fitting, choice.cold_kpa)

    def problem(self, seen: Seen) -> Problem:
        """Return the problem with the truth in it, and hardly a stone."""
        truth = self._truth
        problem = asked(seen, 1, 0)
        by_stage: dict[tuple[str, str], float] = {}
        mean: dict[str, float] = {}
        km = sum(stage.km for stage in problem.stages.values())
        # One factor for each word: where two families share it, the one used here goes.
        for compound, stock in sorted(
            {t.stock.compound: t.stock for t in problem.tyres}.items(), key=lambda row: row[0]
        ):
            for ref, stage in problem.stages.items():
                factor = truth.compound_factor(stock, truth.ground(stage))
                by_stage[compound, ref] = factor
                mean[compound] = mean.get(compound, 0.0) + factor * stage.km / km
        sd = truth.spread.widen * MODEL_LN_SD
        return replace(
            problem,
            tyres=tuple(self._true_tyre(tyre) for tyre in problem.tyres),
            conditions=truth.conditions,
            wear_sd=sd,
            tyre_wear_sd={t.stock.tyre_id: sd for t in problem.tyres},
            wear_multiplier=mean,
            corner_multiplier={c: truth.corner_factor(n) for n, c in enumerate(CORNERS)},
            stage_wear_multiplier=by_stage,
        )

    def _true_tyre(self, given: TyreInput) -> TyreInput:
        tyre, model = self._garage.tyres[given.stock.tyre_id], given.model
        share = STONES_SHARE if self._stones else 1.0
        return replace(
            given,
            tread_mm=tyre.tread_mm,
            edge_share=tyre.edge_share,
            tread_sd_mm=0.0,
            side=tyre.side,
            model=model.model_copy(update={"casing": share * model.casing}),
        )


def _cost_s(driven: Driven) -> float:
    return sum(driven.stage_s.values()) + driven.lost_s
