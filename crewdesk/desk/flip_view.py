"""When the call changes: each number that may move, as it is drawn and as it is said."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from crewdesk.desk.state import DayState
from crewdesk.desk.words import fitting_words
from crewdesk.engine.result import Flip, FlipChart, PlanResult
from crewdesk.units import PLACES, Place

MOVES: Final = ("road", "rain", "new_tyre_worth", "tread")
"""What may move, in the order in which it is shown."""
MOST_RIVALS: Final = 4
"""More lines than these and the call could not be told apart; the table has them all."""
NONE_S: Final = 0.05
"""Less than this is no lead: it would be shown as 0.0. [s]"""

_TITLES: Final = {
    "road": "Road temperature, the air with it",
    "rain": "Chance of a wet road in the next loop",
    "new_tyre_worth": "Price of a second: what a new tyre is worth",
    "tread": "Least tread of {0}",
}
_ABSENT: Final = {
    "road": "The road was not moved.",
    "rain": "The next loop is dry or wet for certain: no chance to move.",
    "new_tyre_worth": "Tyres cost nothing here: no price to move.",
    "tread": "No tyre of the call has run: no reading to move.",
}


@dataclass(frozen=True)
class RivalLine:
    """One way to fit the next loop, by name, with what it loses at each value."""

    name: str
    seconds: tuple[float, ...]
    """Above the best."""
    drawn: bool = True


@dataclass(frozen=True)
class Change:
    """Where the call changes, on one side of now."""

    at: float
    words: str
    sure: bool
    """False: only the lines cross there; the whole question was not seen to change."""


@dataclass(frozen=True)
class FlipView:
    """One number that moves: its lines, the call first, and where the call changes."""

    what: str
    title: str
    said: str
    """All of it in words."""
    now: float = 0.0
    now_words: str = ""
    values: tuple[float, ...] = ()
    lines: tuple[RivalLine, ...] = ()
    changes: tuple[Change, ...] = ()


def value_words(what: str, value: float) -> str:
    """Return a value with its unit, as finely as it is moved."""
    if what == "road":
        return f"{value:.1f} °C"
    if what == "rain":
        return f"{value:.0f} in 100"
    if what == "new_tyre_worth":
        return f"{value:.1f} s"
    return f"{value:.1f} mm"


def flip_views(state: DayState, result: PlanResult) -> tuple[FlipView, ...]:
    """Return a view of each number that may move; one that cannot move says why."""
    charts = {chart.what: chart for chart in result.flip_charts if chart.lines}
    views = []
    for what in MOVES:
        chart = charts.get(what)
        if chart is not None:
            flips = [f for f in result.flips if (f.what, f.tyre) == (what, chart.tyre)]
            views.append(_view(state, chart, flips))
        elif charts:
            title = _TITLES[what].format("a tyre")
            views.append(FlipView(what, title, _ABSENT[what]))
    return tuple(views)


def _view(state: DayState, chart: FlipChart, flips: Sequence[Flip]) -> FlipView:
    fittings = [line.fitting for line in chart.lines]
    far = {f.at: f.fitting for f in flips if not any(_same(f.fitting, m) for m in fittings)}
    names = _names(state, [*fittings, *far.values()])
    named = list(zip([*fittings, *far.values()], names, strict=True))
    drawn = _drawn(chart)
    lines = tuple(
        RivalLine(name, line.seconds, number in drawn)
        for number, (name, line) in enumerate(zip(names, chart.lines, strict=False))
    )
    changes = []
    for up in (False, True):
        sure = next((f for f in flips if (f.at > f.now) == up), None)
        found = _crossing(chart, lines, up=up)
        if sure is not None:
            then = next(name for fitting, name in named if _same(fitting, sure.fitting))
            words = _change_words(chart.what, sure.at, then, up=up)
            found = Change(sure.at, words, sure=True)
        if found is not None:
            changes.append(found)
    now = value_words(chart.what, chart.now)
    title = _TITLES[chart.what].format(chart.tyre)
    said = " ".join([f"Now {now}.", *(f"{c.words}." for c in changes)])
    if not changes:
        low, high = (value_words(chart.what, chart.values[end]) for end in (0, -1))
        said += f" No change seen from {low} to {high}."
    return FlipView(
        chart.what, title, said, chart.now, now, chart.values, lines, tuple(changes)
    )


def _names(state: DayState, fittings: Sequence[Mapping[Place, str | None]]) -> list[str]:
    """Return a name for each fitting; those alike are told apart by what they carry."""
    names = [fitting_words(state, fitting) for fitting in fittings]
    count = Counter(names)
    told = []
    for name, fitting in zip(names, fittings, strict=True):
        places: tuple[Place, Place] = ("SP1", "SP2")
        ids = [t for p in places if (t := fitting.get(p)) and t in state.tyres]
        carried = " + ".join(state.tyres[t].stock.compound for t in ids) or "none"
        told.append(f"{name}, carried {carried}" if count[name] > 1 else name)
    return told


def _drawn(chart: FlipChart) -> set[int]:
    """Return which lines are drawn: the call, those that lead somewhere, the nearest now."""
    here = min(range(len(chart.values)), key=lambda i: abs(chart.values[i] - chart.now))

    def rank(number: int) -> tuple[bool, float]:
        line = chart.lines[number]
        return min(line.seconds) > NONE_S, line.seconds[here]

    rivals = sorted(range(1, len(chart.lines)), key=rank)
    return {0, *rivals[:MOST_RIVALS]}


def _crossing(chart: FlipChart, lines: Sequence[RivalLine], *, up: bool) -> Change | None:
    """Return where the call's line leaves the lowest place, on one side of now."""
    values, call = chart.values, lines[0].seconds
    here = min(range(len(values)), key=lambda i: abs(values[i] - chart.now))
    way = 1 if up else -1
    end = len(values) if up else -1
    at = next((i for i in range(here, end, way) if call[i] > NONE_S), None)
    if at is None or at == here:
        return None
    rival = min(lines[1:], key=lambda line: line.seconds[at])
    before = rival.seconds[at - way] - call[at - way]
    beyond = call[at] - rival.seconds[at]
    share = before / (before + beyond) if before > 0.0 else 0.0
    value = values[at - way] + share * (values[at] - values[at - way])
    return Change(
        value,
        f"About {value_words(chart.what, value)}: close to {rival.name}",
        sure=False,
    )


def _same(one: Mapping[Place, str | None], other: Mapping[Place, str | None]) -> bool:
    return all(one.get(place) == other.get(place) for place in PLACES)


def _change_words(what: str, at: float, then: str, *, up: bool) -> str:
    more, less = ("warmer", "colder") if what == "road" else ("more", "less")
    return f"{value_words(what, at)} or {more if up else less}: {then}"
