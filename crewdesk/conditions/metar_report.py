"""A weather report of an aerodrome, as pasted: METAR, and the extremes of a TAF."""

import re
import warnings
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from crewdesk.errors import DocumentError

CLOUD_SHARE: Final = {
    "FEW": 0.19,
    "SCT": 0.44,
    "BKN": 0.75,
    "OVC": 1.0,
    "VV": 1.0,
    "SKC": 0.0,
    "CLR": 0.0,
    "NSC": 0.0,
    "NCD": 0.0,
}
"""Share of the sky: the middle of the oktas that a word stands for (WMO-No. 306, FM 15)."""
_EXTREME = re.compile(r"\bT([XN])(M?\d\d)/(\d\d)(\d\d)Z")


@dataclass(frozen=True)
class AerodromeReport:
    """What a METAR says; None: not told."""

    station: str
    at_utc: datetime
    air_c: float | None
    dewpoint_c: float | None
    wind_ms: float | None
    gust_ms: float | None
    qnh_hpa: float | None
    cloud_share: float | None

    @property
    def words(self) -> str:
        """Return what was understood, to be shown before it is used."""
        parts = [f"{self.station} {self.at_utc:%d %b %H:%M} UTC"]
        if self.air_c is not None:
            parts.append(f"air {self.air_c:g} °C")
        if self.dewpoint_c is not None:
            parts.append(f"dew point {self.dewpoint_c:g} °C")
        if self.wind_ms is not None:
            gust = f" gusting {self.gust_ms:.0f}" if self.gust_ms is not None else ""
            parts.append(f"wind {self.wind_ms:.0f}{gust} m/s")
        if self.cloud_share is not None:
            parts.append(f"cloud {100 * self.cloud_share:.0f} %")
        return ", ".join(parts)


@dataclass(frozen=True)
class Extreme:
    """Highest or lowest air of a TAF."""

    highest: bool
    air_c: float
    day: int
    hour_utc: int


def read_metar(text: str, day: datetime) -> AerodromeReport:
    """Return what a pasted METAR says.

    Parameters
    ----------
    text : str
        The report, with or without the word METAR before it.
    day : datetime
        Any moment of its month: the report itself tells the day of the month alone.

    Returns
    -------
    AerodromeReport
        The report.

    Raises
    ------
    DocumentError
        Where the reader is not installed, or the text is no report.

    Notes
    -----
    Whole degrees but for the tenths of a remark; the largest layer counts for the cloud.
    Where the day of the month lies after ``day`` by more than a day, the month before is
    meant.

    References
    ----------
    .. [1] WMO-No. 306, Manual on Codes, FM 15 METAR (not opened).
    """
    try:
        from metar.Metar import Metar, ParserError
    except ImportError as error:
        raise DocumentError(
            "METAR cannot be read on this computer.",
            hint="Install it with: pip install 'crewdesk[metar]'. Or type the figures in.",
        ) from error
    line = " ".join(text.replace("=", " ").split())
    read: Any = None
    for month in (day, _month_before(day)):
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                read = Metar(line, month=month.month, year=month.year, strict=False)
        except (ParserError, ValueError):
            read = None
            continue
        if read.time is not None and (read.time.replace(tzinfo=UTC) - day).days < 1:
            break
    if read is None or read.time is None or not read.station_id:
        raise DocumentError(
            "This is no METAR.",
            hint="Paste the whole line, as XXXX 251030Z 32018KT 9999 FEW040 12/M02 Q1012.",
        )
    if read.temp is None and read.wind_speed is None and read.press is None:
        raise DocumentError(
            "This METAR tells neither air, wind nor pressure.", hint="Look for a newer one."
        )
    return AerodromeReport(
        station=read.station_id,
        at_utc=read.time.replace(tzinfo=UTC),
        air_c=_value(read.temp, "C"),
        dewpoint_c=_value(read.dewpt, "C"),
        wind_ms=_value(read.wind_speed, "MPS"),
        gust_ms=_value(read.wind_gust, "MPS"),
        qnh_hpa=_value(read.press, "HPA"),
        cloud_share=_cloud(read.sky, line),
    )


def _month_before(day: datetime) -> datetime:
    year, month = (day.year, day.month - 1) if day.month > 1 else (day.year - 1, 12)
    return day.replace(year=year, month=month, day=1)


def _value(told: Any, unit: str) -> float | None:
    return None if told is None else float(told.value(unit))


def _cloud(layers: Any, line: str) -> float | None:
    """Return the share of the sky under the largest layer; None where it is not told."""
    shares = [CLOUD_SHARE[word] for word, *_ in layers or () if word in CLOUD_SHARE]
    if shares:
        return max(shares)
    return 0.0 if "CAVOK" in line.upper().split() else None


def read_taf_extremes(text: str) -> tuple[Extreme, ...]:
    """Return the highest and lowest air that a TAF foretells.

    Parameters
    ----------
    text : str
        The forecast.

    Returns
    -------
    tuple of Extreme
        In their order; empty where it tells none.

    References
    ----------
    .. [1] WMO-No. 306, Manual on Codes, FM 51 TAF (not opened).

    Examples
    --------
    >>> read_taf_extremes("TAF XXXX TX14/2513Z TNM03/2605Z")[1]
    Extreme(highest=False, air_c=-3.0, day=26, hour_utc=5)
    """
    return tuple(
        Extreme(kind == "X", float(value.replace("M", "-")), int(day), int(hour))
        for kind, value, day, hour in _EXTREME.findall(text.upper())
    )
