"""Aerodrome reports as pasted, against reports worked by hand from the code's own rules.

The groups follow WMO-No. 306, FM 15 and FM 51 (not opened; read from public descriptions):
M is minus, KT knots of 1852 m in an hour, Q hPa, A hundredths of inches of mercury of
33.8639 hPa, T a remark with tenths; FEW 1 to 2 oktas, SCT 3 to 4, BKN 5 to 7, OVC 8.
"""

from datetime import UTC, datetime

import pytest

from crewdesk.conditions.metar_report import read_metar, read_taf_extremes
from crewdesk.errors import DocumentError

DAY = datetime(2026, 5, 25, 12, tzinfo=UTC)
KNOT_MS = 1852 / 3600

REPORTS = [
    (
        "METAR XXXX 251030Z AUTO 32018G30KT 9999 FEW040 SCT120 12/M02 Q1012 NOSIG",
        (12.0, -2.0, 18 * KNOT_MS, 30 * KNOT_MS, 1012.0, 0.44),
    ),
    (
        "XXXX 250950Z 18004KT CAVOK M05/M07 Q1021",
        (-5.0, -7.0, 4 * KNOT_MS, None, 1021.0, 0.0),
    ),
    (
        "METAR XXXX 251020Z 00000MPS //// // ////// 15/// Q1009",
        (15.0, None, 0.0, None, 1009.0, None),
    ),
    (
        "XXXX 251056Z 27010KT 10SM -RA BKN008 OVC015 03/02 A2992 RMK AO2 T00280017",
        (2.8, 1.7, 10 * KNOT_MS, None, 29.92 * 33.8639, 1.0),
    ),
]


@pytest.mark.parametrize(("text", "told"), REPORTS)
def test_reports(text, told):
    read = read_metar(text, DAY)
    seen = (
        read.air_c,
        read.dewpoint_c,
        read.wind_ms,
        read.gust_ms,
        read.qnh_hpa,
        read.cloud_share,
    )
    for one, other in zip(seen, told, strict=True):
        assert (one is None) == (other is None)
        assert one is None or one == pytest.approx(other, abs=0.06)
    assert (read.station, read.at_utc.day, read.at_utc.tzinfo) == ("XXXX", 25, UTC)
    assert "XXXX 25 May" in read.words


def test_the_day_of_the_month_before():
    # The report of the 31st, pasted on the first of the next month.
    read = read_metar(
        "XXXX 312350Z 18004KT CAVOK 05/02 Q1021", datetime(2026, 6, 1, tzinfo=UTC)
    )
    assert read.at_utc == datetime(2026, 5, 31, 23, 50, tzinfo=UTC)


@pytest.mark.parametrize("text", ["", "hello there", "12 degrees and sunny", "TAF XXXX"])
def test_what_is_no_report_is_refused(text):
    with pytest.raises(DocumentError) as caught:
        read_metar(text, DAY)
    assert caught.value.hint


def test_the_extremes_of_a_taf():
    text = "TAF XXXX 251100Z 2512/2612 24010KT 9999 SCT030 TX14/2513Z TN03/2605Z"
    high, low = read_taf_extremes(text)
    assert (high.highest, high.air_c, high.day, high.hour_utc) == (True, 14.0, 25, 13)
    assert (low.highest, low.air_c, low.day, low.hour_utc) == (False, 3.0, 26, 5)
    assert read_taf_extremes("TAF XXXX 251100Z") == ()
