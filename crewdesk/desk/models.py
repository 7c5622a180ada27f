"""The model behind a row of the stock table."""

from collections.abc import Mapping

from crewdesk.documents.event import TyreModel
from crewdesk.documents.stock import StockTyre


def model_of(tyre: StockTyre, models: Mapping[tuple[str, str, str], TyreModel]) -> TyreModel:
    """Return the model of a tyre; a row without one is a model of its own."""
    found = models.get(tyre.kind_key)
    if found is not None:
        return found
    return TyreModel(
        maker=tyre.maker,
        model=tyre.model,
        compound=tyre.compound,
        family=tyre.use,
        hardness=tyre.hardness,
        cap_group=tyre.cap_group,
        size=tyre.size,
        tread_new_mm=tyre.tread_new_mm,
    )
