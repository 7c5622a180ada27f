"""What lies ahead of a tyre up to the next change place, as the rules look at it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from crewdesk.conditions.moments import Conditions
from crewdesk.desk.targets import target_of
from crewdesk.documents.itinerary import Stage
from crewdesk.documents.stock import StockTyre
from crewdesk.physics.grip import hydroplaning_kmh, may_float
from crewdesk.regulations.fitting import TyreFacts

LIKELY = 0.3
"""From this chance on standing water is told of. Tuning value of this project."""
LEAST_DRY_KM = 2.0
"""Fewer dry kilometres do a rain tyre no harm worth a word. Tuning value of this project."""


@dataclass(frozen=True)
class Ahead:
    """What was reckoned of one tyre for the stages to come."""

    mm: tuple[float, float, float]
    """Least tread at the end: best figure, then the 10-in-100 and 90-in-100."""
    peak_c: float | None = None
    window_hi_c: float | None = None
    dry_km: float | None = None
    float_kmh: float | None = None

    def laid_over(self, facts: TyreFacts) -> TyreFacts:
        """Return what the rules see of the tyre, with this."""
        return replace(
            facts,
            predicted_mm=self.mm,
            peak_tread_c=self.peak_c,
            window_hi_c=self.window_hi_c,
            dry_km=self.dry_km,
            float_kmh=self.float_kmh,
        )


def told_of(
    stock: StockTyre, stages: Sequence[Stage], conditions: Conditions, mean_mm: float
) -> tuple[float | None, float | None]:
    """Return the dry km of a rain tyre, and from which speed a worn one may float."""
    dry_km = 0.0
    float_kmh: float | None = None
    for stage in stages:
        if stage.ref not in conditions.keys:
            continue
        p_kpa = target_of(stage)
        of_parts = conditions.parts.get(stage.ref, ())
        rest = max(0.0, 1.0 - sum(share for _, share in of_parts))
        for key, length in ((stage.ref, rest), *of_parts):
            shares = conditions.state_shares[conditions.index(key)]
            dry_km += stage.km * length * shares.get("dry", 0.0)
            flooded = length > 0.0 and shares.get("standing", 0.0) >= LIKELY
            if flooded and may_float(stage.avg_kmh, p_kpa, mean_mm):
                float_kmh = float(hydroplaning_kmh(p_kpa))
    rain = stock.use == "asphalt_wet" and dry_km >= LEAST_DRY_KM
    return (round(dry_km, 2) if rain else None), float_kmh
