"""Studs: what they are worth on each ground, and what bare ground takes out of them.

All of it common practice, no source.
"""

import pytest

from crewdesk.physics.studs import bare_share, stud_life_share


def test_studs_last_forty_kilometres_of_bare_ground():
    assert stud_life_share([0.0, 10.0, 40.0, 60.0]) == pytest.approx([0.0, 0.25, 1.0, 1.5])
    with pytest.raises(ValueError, match="negative"):
        stud_life_share(-1.0)


@pytest.mark.parametrize(
    ("surface", "state", "share"),
    [
        ("snow", "dry", 0.0),
        ("ice", "wet", 0.0),
        ("gravel", "snow", 0.0),
        ("asphalt", "ice", 0.0),
        ("gravel", "frozen", 0.5),
        ("asphalt", "frozen", 0.8),
        ("asphalt", "frost_patches", 0.8),
        ("gravel", "dry", 1.0),
        ("asphalt", "wet", 1.0),
    ],
)
def test_bare_ground_by_road_and_state(surface, state, share):
    assert bare_share(surface, state) == pytest.approx(share)
