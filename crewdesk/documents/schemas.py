"""JSON Schemas of the documents, as shipped in ``resources/schemas``."""

import json
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import BaseModel

from crewdesk.documents.event import EventFile
from crewdesk.documents.handover import Handover
from crewdesk.documents.itinerary import ItineraryRow
from crewdesk.documents.regulation_sets import RegulationFile
from crewdesk.documents.stock import StockTyre
from crewdesk.documents.weather import WeatherRow

MODELS: Mapping[str, type[BaseModel]] = {
    "event": EventFile,
    "regulations": RegulationFile,
    "handover": Handover,
    "itinerary": ItineraryRow,
    "stock": StockTyre,
    "weather": WeatherRow,
}
"""By kind; of a table, the schema is that of one row as the program holds it."""

KINDS: tuple[str, ...] = tuple(MODELS)


def schema_of(kind: str) -> dict[str, Any]:
    """Return the JSON Schema of a document, or raise KeyError."""
    schema = MODELS[kind].model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_text(kind: str, of: Callable[[str], dict[str, Any]] = schema_of) -> str:
    """Return a schema as the text of its shipped file."""
    return json.dumps(of(kind), indent=2, ensure_ascii=False) + "\n"
