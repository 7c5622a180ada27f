"""Load, speed, gearing and squeeze of a tyre, against the tables of the standards."""

import csv
from pathlib import Path

import pytest

from crewdesk.physics.size import size_of
from crewdesk.physics.size_fit import (
    corner_load_kg,
    gearing_change,
    max_load_kg,
    max_speed_kmh,
    service_of,
    squeezed_share,
    stiffness_n_mm,
    turns_per_km,
)

DATA = Path(__file__).parents[1] / "data"


def rows(name: str) -> list[dict[str, str]]:
    text = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in text if not line.startswith("#")))


def test_loads_are_those_of_the_table():
    # UN Regulations No. 30 and No. 54, Annex 4, from three public tables (see the file).
    table = rows("load_index.csv")
    assert len(table) == 61
    for row in table:
        assert max_load_kg(int(row["load_index"])) == float(row["max_load_kg"])


def test_loads_grow_as_the_tables_are_built():
    # Each step is a factor of ten in eighty indices; the table is rounded to whole figures.
    for index in range(60, 121):
        assert max_load_kg(index) == pytest.approx(45.0 * 10.0 ** (index / 80.0), rel=0.018)
    with pytest.raises(ValueError, match="outside"):
        max_load_kg(59)


def test_speeds_are_those_of_the_table():
    # UN Regulation No. 30, from three public tables; A1 to A8 from memory (see the file).
    table = rows("speed_symbol.csv")
    assert len(table) == 29
    for row in table:
        assert max_speed_kmh(row["symbol"]) == float(row["max_speed_km_h"])
    with pytest.raises(ValueError, match="symbol"):
        max_speed_kmh("X")


@pytest.mark.parametrize("row", rows("tyre_size_examples.csv"), ids=lambda r: r["designation"])
def test_sizes_worked_from_the_rules(row):
    # UN Regulation No. 30, 6.1.2 for metric marks; competition marks give the diameter. Turns
    # with 3.05 D (ETRTO Standards Manual, second hand).
    size = size_of(row["designation"])
    assert size.width_m == pytest.approx(float(row["width_mm"]) / 1e3, abs=1e-12)
    assert size.diameter_m == pytest.approx(float(row["diameter_mm"]) / 1e3, abs=1e-12)
    assert size.rim_inch == float(row["rim_in"])
    assert turns_per_km(size) == pytest.approx(float(row["revs_per_km_rolling"]), abs=0.051)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("95T", (95, "T")),
        (" 91 v ", (91, "V")),
        ("195/65 R15 91H", (91, "H")),
        ("195/70 R15C 104/102R", (104, "R")),
        ("245/40 ZR18 (97Y)", (97, "Y")),
        ("215/45 ZR17 91W XL", None),
        ("20/65-18", None),
        ("205/55 R16", None),
        ("", None),
    ],
)
def test_service_descriptions(words, told):
    assert service_of(words) == told


def test_another_size_moves_the_gearing():
    # 205/65 R15 to 195/65 R15 without rounding: +2.05 % at the wheel, -2.01 % of speed; the
    # marks' whole millimetres (647 to 635) make it +1.89 and -1.85.
    force, speed = gearing_change(size_of("205/65 R15"), size_of("195/65 R15"))
    assert force == pytest.approx(647 / 635 - 1, abs=1e-12)
    assert speed == pytest.approx(635 / 647 - 1, abs=1e-12)
    assert (force, speed) == pytest.approx((0.0205, -0.0201), abs=0.002)
    assert (1 + force) * (1 + speed) == pytest.approx(1.0)


def test_a_light_car_hardly_squeezes_a_big_tyre():
    # Worked by hand with the formula of Rhyne 2005 (from memory, not verified) at 170 kPa on
    # unrounded sizes: 183.1 N/mm and 15.65 % for a front tyre of a car of 1390 kg with 56 % of
    # its weight in front; 11.84 % for one of 950 kg with 62 %, 15.42 % on 175/65 R14.
    big, small = size_of("205/65 R15"), size_of("175/65 R14")
    g = 9.80665
    heavy_n, light_n = 1390 * g * 0.56 / 2, 950 * g * 0.62 / 2
    assert stiffness_n_mm(big, 170.0) == pytest.approx(183.1, abs=0.3)
    assert squeezed_share(big, heavy_n, 170.0) == pytest.approx(0.1565, abs=0.0008)
    assert squeezed_share(big, light_n, 170.0) == pytest.approx(0.1184, abs=0.0008)
    assert squeezed_share(small, light_n, 170.0) == pytest.approx(0.1542, abs=0.0015)
    # More air or more width squeezes it less.
    assert squeezed_share(big, light_n, 220.0) < squeezed_share(big, light_n, 170.0)
    with pytest.raises(ValueError, match="pressure"):
        stiffness_n_mm(big, -1.0)


def test_the_load_of_a_corner():
    assert corner_load_kg(1390.0, 0.56) == pytest.approx(1.3 * 389.2)
    with pytest.raises(ValueError, match="mass"):
        corner_load_kg(0.0, 0.5)
