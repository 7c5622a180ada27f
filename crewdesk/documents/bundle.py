"""An event with all its documents, as the rest of the program takes it."""

from pydantic import Field

from crewdesk.documents.base import Part
from crewdesk.documents.event import EventFile, TyreModel
from crewdesk.documents.itinerary import Itinerary
from crewdesk.documents.learnt import LearntBefore
from crewdesk.documents.stock import Stock, StockTyre
from crewdesk.documents.weather import Weather


class RegulationSet(Part):
    """A set of rules before the event's own values are laid over it."""

    name: str
    """As ``Weekend Gravel``."""
    fields: dict[str, object]
    """Value by field name; a blank limit (None) means that nothing is checked."""
    sources: dict[str, str]
    """Where each value was typically found, by field name."""


class EventBundle(Part):
    """Documents of one event, cross-checked."""

    event: EventFile
    itinerary: Itinerary
    stock: Stock
    weather: Weather
    regulation_set: RegulationSet
    notes: tuple[str, ...] = ()
    """Things worth knowing that are no faults: kept columns, derived loops that differ."""
    assumed: tuple[str, ...] = ()
    """Inputs nobody gave, filled with a default, one plain phrase each."""
    learnt: LearntBefore | None = None
    """What the last event taught of wear and heat, where its handover came along."""
    source_files: dict[str, str] = Field(default_factory=dict)
    """The text of each file the bundle was read from, by file name; the day book keeps it."""

    def model_of(self, tyre: StockTyre) -> TyreModel:
        """Return the model of a tyre, or raise KeyError."""
        for model in self.event.models:
            if (model.maker, model.model, model.compound) == tyre.kind_key:
                return model
        raise KeyError(" ".join(tyre.kind_key))
