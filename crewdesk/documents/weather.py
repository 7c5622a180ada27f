"""The weather table: forecasts with their time of issue, and what was observed."""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from crewdesk.documents.base import AirCelsius, Metres, Part, RoadCelsius

SurfaceState = Literal["dry", "damp", "wet", "standing", "muddy", "frozen", "snow", "ice"]


class WeatherRow(Part):
    """One hour at one site; instants are UTC."""

    row: int
    time_utc: datetime
    site: str
    alt_m: Metres
    source: Literal["observed", "forecast"]
    issued_utc: datetime | None = None
    air_c: AirCelsius
    cloud_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    rain_mm_h: Annotated[float, Field(ge=0, le=200)] | None = None
    wind_kmh: Annotated[float, Field(ge=0, le=250)] | None = None
    humidity_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    road_c: RoadCelsius | None = None
    surface_state: SurfaceState | None = None


class Weather(Part):
    """The weather table."""

    rows: tuple[WeatherRow, ...] = ()
    comments: tuple[str, ...] = ()
