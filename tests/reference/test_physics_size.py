"""Width and diameter from size marks: arithmetic of the standards, worked by hand."""

import pytest

from crewdesk.physics.size import size_m

# UN Regulation No. 30, 6.1.2: D = d + 2 H (from memory, not verified), rim and section height
# rounded to 1 mm, halves up; competition marks give the diameter (common practice, no source).
MARKS = [
    ("195/65 R15 91H", 195, 381 + 2 * 127),
    ("205/65 R15", 205, 381 + 2 * 133),
    ("215/60 R15", 215, 381 + 2 * 129),
    ("185/65 R14", 185, 356 + 2 * 120),
    ("185/50 R14", 185, 356 + 2 * 93),  # 92.5 goes up
    ("235/40 R18 95Y", 235, 457 + 2 * 94),
    ("245/40 ZR18 (97Y)", 245, 457 + 2 * 98),
    ("P215/65R16 98H", 215, 406 + 2 * 140),
    ("195/70 R15C 104/102R", 195, 381 + 2 * 137),
    ("225/45 R17.5", 225, 445 + 2 * 101),
    ("20/65-18", 200, 650),
    ("15/61-15", 150, 610),
    ("17/65-15", 170, 650),
    ("205/650-18", 205, 650),
    ("160/640R15", 160, 640),
    ("200/605 x 16", 200, 605),
]


@pytest.mark.parametrize(("mark", "width_mm", "diameter_mm"), MARKS)
def test_marks(mark, width_mm, diameter_mm):
    assert size_m(mark) == pytest.approx((width_mm / 1000, diameter_mm / 1000), abs=1e-12)


@pytest.mark.parametrize(
    ("mark", "diameter_mm"),
    # The same rule without rounding: D = 25.4 rim + 2 W AR / 100.
    [
        ("205/65 R15", 647.5),
        ("195/65 R15", 634.5),
        ("215/60 R15", 639.0),
        ("185/65 R14", 596.1),
        ("235/40 R18", 645.2),
    ],
)
def test_rounding_moves_a_diameter_by_less_than_a_millimetre(mark, diameter_mm):
    assert size_m(mark)[1] * 1000 == pytest.approx(diameter_mm, abs=0.8)


def test_turns_per_kilometre():
    # Rolling circumference 3.05 D (ETRTO Standards Manual, radial tyres; from memory, not
    # verified): 195/65 R15 makes 516.3 turns, 20/65-18 makes 504.4.
    for mark, turns in (("195/65 R15", 516.3), ("20/65-18", 504.4)):
        assert 1e3 / (3.05 * size_m(mark)[1]) == pytest.approx(turns, abs=0.05)


@pytest.mark.parametrize("mark", ["195/65r15 91h", " 195 / 65 R 15", "195/65\N{EN DASH}15"])
def test_case_blanks_and_dashes_do_not_matter(mark):
    assert size_m(mark) == (0.195, 0.635)


@pytest.mark.parametrize(
    "mark", ["", "185/60HR15", "slick", "205/450-18", "20/80-13", "65 R15"]
)
def test_other_marks_are_refused(mark):
    with pytest.raises(ValueError, match=r"size|suit"):
        size_m(mark)
