"""Size marks that can be read."""

import pytest

from crewdesk.documents.tyre_sizes import size_readable


@pytest.mark.parametrize(
    "mark",
    [
        "17/65-15", "20/65-18", "16/64-15", "15/65-15", "205/650-18", "20/65 R18", "20/65X18",
        "195/65 R15 91H", "245/40 ZR18 (97Y)", "205/55R16", "20/65 – 18", "P205/75R15",
    ],
)  # fmt: skip
def test_readable(mark: str) -> None:
    assert size_readable(mark)


@pytest.mark.parametrize(
    # A competition diameter must lie between rim + 60 mm and twice the rim + 40 mm.
    "mark",
    ["", "15", "big", "17-65/15", "17/95-15", "20/45-18", "17/80-12", "650", "1/1-1"],
)
def test_not_readable(mark: str) -> None:
    assert not size_readable(mark)
