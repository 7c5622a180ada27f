"""Is this size right for this car: load, speed, rim, gearing, how far it is squeezed."""

from collections.abc import Iterator
from dataclasses import replace

from crewdesk.desk.before_kinds import Checked, Kind, listed
from crewdesk.desk.targets import target_of
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.tyre_sizes import normalised
from crewdesk.physics.size import TyreSize, size_of
from crewdesk.physics.size_fit import (
    DIAMETER_SHARE,
    SQUEEZED,
    corner_load_kg,
    gearing_change,
    max_load_kg,
    max_speed_kmh,
    service_of,
    squeezed_share,
)
from crewdesk.units import STANDARD_GRAVITY_MS2

TOP_OVER_MEAN = 1.6
"""Top speed of a stage over its mean. Tuning value of this project."""
_PER_CENT = 100.0
_SAME = 1e-6


def size_checks(bundle: EventBundle, kinds: tuple[Kind, ...]) -> tuple[Checked, ...]:
    """Return what there is to say of load, speed, rim, size and squeeze of every kind."""
    told: list[Checked] = []
    for kind in kinds:
        told += [replace(one, who=(kind.name,)) for one in _of_kind(bundle, kind)]
    return tuple(told)


def _of_kind(bundle: EventBundle, kind: Kind) -> Iterator[Checked]:
    yield from _load(bundle, kind)
    size = readable(kind)
    if size is None:
        mark = kind.one.stock.size or "left blank"
        yield Checked(
            "size",
            "watch",
            f"the size {mark} cannot be read, so it is not known whether it suits the car.",
        )
        return
    yield from _rim(kind, size)
    yield from _gearing(bundle, kind, size)
    yield from _squeeze(bundle, kind, size)


def readable(kind: Kind) -> TyreSize | None:
    """Return the size of a kind, or None where its mark cannot be read."""
    return size_or_none(kind.one.stock.size) or size_or_none(kind.model.size)


def size_or_none(mark: str) -> TyreSize | None:
    """Return what a mark says, or None where it cannot be read."""
    try:
        return size_of(mark)
    except ValueError:
        return None


def _load(bundle: EventBundle, kind: Kind) -> Iterator[Checked]:
    stock, car = kind.one.stock, bundle.event.car
    marked = service_of(stock.service_desc) or service_of(stock.size)
    if marked is None:
        yield Checked(
            "load",
            "watch",
            "no load index and speed symbol entered. Read them off the sidewall.",
            caution="over_load",
        )
        return
    index, symbol = marked
    bears, most = max_load_kg(index), max_speed_kmh(symbol)
    asked = corner_load_kg(car.mass_kg, max(car.front_share, 1.0 - car.front_share))
    values: dict[str, object] = {"load_index": index, "bears_kg": bears, "asked_kg": asked}
    corner = "front corner" if car.front_share >= 0.5 else "rear corner"
    if bears < asked:
        yield Checked(
            "load",
            "stops",
            f"load index {index} bears {bears:.0f} kg; a {corner} of this car asks for "
            f"{asked:.0f} kg, cornering included. Take a higher index.",
            caution="over_load",
            values=values,
        )
    else:
        yield Checked(
            "load",
            "holds",
            f"load index {index} bears {bears:.0f} kg, a {corner} asks for {asked:.0f} kg.",
            values=values,
        )
    fastest = max(bundle.itinerary.stages, key=lambda s: s.avg_kmh, default=None)
    top = TOP_OVER_MEAN * fastest.avg_kmh if fastest is not None else 0.0
    if fastest is not None and most < top:
        yield Checked(
            "load",
            "watch",
            f"speed symbol {symbol} stands for {most:.0f} km/h; {fastest.ref} is driven at "
            f"{fastest.avg_kmh:.0f} km/h on the mean, some {top:.0f} at most.",
            caution="over_load",
            values={"symbol": symbol, "most_kmh": most},
        )


def _rim(kind: Kind, size: TyreSize) -> Iterator[Checked]:
    wrong = [
        tyre.tyre_id
        for tyre in kind.tyres
        if (inch := _rim_inch(tyre.stock.rim)) is not None and inch != size.rim_inch
    ]
    if wrong:
        yield Checked(
            "size",
            "stops",
            f"{kind.one.stock.size} belongs on a rim of {size.rim_inch:g} inches; "
            f"{listed(wrong)} {'is' if len(wrong) == 1 else 'are'} down for another one.",
            caution="wrong_rim",
            values={"tyres": tuple(wrong)},
        )


def _rim_inch(rim: str) -> float | None:
    """Return the diameter of a rim written as 7Jx15, or None."""
    _, cross, inch = normalised(rim).rpartition("X")
    try:
        return float(inch) if cross else None
    except ValueError:
        return None


def _gearing(bundle: EventBundle, kind: Kind, size: TyreSize) -> Iterator[Checked]:
    mark, own_mark = kind.one.stock.size, bundle.event.car.tyre_size
    own = size_or_none(own_mark)
    if own is None:
        yield Checked(
            "size",
            "note",
            f"{mark}: the car's own size is not entered, so gearing and clearance cannot be "
            "compared.",
        )
        return
    force, speed = gearing_change(own, size)
    wide_mm = 1e3 * (size.width_m - own.width_m)
    if abs(speed) < _SAME and abs(wide_mm) < _SAME:
        yield Checked("size", "holds", f"{mark}, the size the car runs.")
        return
    text = (
        f"{mark} for the car's {own_mark}: {_PER_CENT * speed:+.1f} % in diameter and in speed "
        f"at the same revs, {_PER_CENT * force:+.1f} % pull at the wheel, {wide_mm:+.0f} mm in "
        "width."
    )
    values = {"diameter_share": round(speed, 4), "width_mm": round(wide_mm, 1)}
    if abs(speed) > DIAMETER_SHARE:
        text += " Confirm gearing, and clearance at full lock and full travel."
        yield Checked("size", "watch", text, caution="clearance", values=values)
    else:
        yield Checked("size", "note", text, values=values)


def _squeeze(bundle: EventBundle, kind: Kind, size: TyreSize) -> Iterator[Checked]:
    """Say where a tyre is hardly squeezed by the car, or too much."""
    car = bundle.event.car
    hot = [target_of(s) for s in bundle.itinerary.stages if kind.suits(s.surface)]
    if not hot:
        return
    load_n = car.mass_kg * STANDARD_GRAVITY_MS2 * car.front_share / 2.0
    try:
        share = squeezed_share(size, load_n, max(hot))
    except ValueError:
        return
    low, high = SQUEEZED
    words = (
        f"at {max(hot) / 100:.2f} bar hot the car's front squeezes {kind.one.stock.size} by "
        f"{_PER_CENT * share:.0f} % of its sidewall"
    )
    values = {"squeezed_share": round(share, 4)}
    if share < low:
        text = (
            f"{words}; under {_PER_CENT * low:.0f} % it is too large or too hard for the car."
        )
        yield Checked("size", "watch", text, values=values)
    elif share > high:
        text = (
            f"{words}; over {_PER_CENT * high:.0f} % it is too small or too soft for the car."
        )
        yield Checked("size", "watch", text, caution="over_load", values=values)
    else:
        yield Checked("size", "holds", f"{words}, as it should be.", values=values)
