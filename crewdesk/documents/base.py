"""The two bases of every document, and the shared types that carry unit and limits."""

from datetime import datetime
from typing import Annotated, ClassVar

from pydantic import BaseModel, ConfigDict, Field


class Part(BaseModel):
    """A piece of a document: frozen, no unknown keys, no NaN."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True
    )


class Document(Part):
    """A whole file with its version."""

    FORMAT: ClassVar[int] = 1

    format: int = 1
    """Version of the layout."""


Km = Annotated[float, Field(ge=0, le=2000, json_schema_extra={"unit": "km"})]
Mm = Annotated[float, Field(ge=0, le=40, json_schema_extra={"unit": "mm"})]
Kpa = Annotated[float, Field(ge=0, le=600, json_schema_extra={"unit": "kPa, gauge"})]
Celsius = Annotated[float, Field(ge=-60, le=200, json_schema_extra={"unit": "°C"})]
AirCelsius = Annotated[float, Field(ge=-50, le=55, json_schema_extra={"unit": "°C"})]
RoadCelsius = Annotated[float, Field(ge=-50, le=85, json_schema_extra={"unit": "°C"})]
Minutes = Annotated[float, Field(ge=0, le=1440, json_schema_extra={"unit": "min"})]
Seconds = Annotated[float, Field(json_schema_extra={"unit": "s"})]
Share = Annotated[float, Field(ge=0, le=1)]
Metres = Annotated[float, Field(ge=-500, le=6000, json_schema_extra={"unit": "m"})]
Instant = datetime
"""Aware, UTC inside the program."""
