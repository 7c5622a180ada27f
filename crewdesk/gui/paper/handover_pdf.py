"""The handover on one page: what the crew that opens the next event must know."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from crewdesk.desk.case import split_code
from crewdesk.documents.handover import Handover, HandoverTyre, WearFigure
from crewdesk.gui.paper.page import LEFT_MM, RIGHT_MM, Page, write_pdf

_COLUMNS: Final[tuple[tuple[str, float], ...]] = (
    ("tyre", 14.0),
    ("rim", 11.0),
    ("what", 44.0),
    ("in  mid  out mm", 27.0),
    ("edges %", 15.0),
    ("km here / all", 21.0),
    ("state", 13.0),
    ("why, damage", 41.0),
)
_TABLE_FOOT_MM: Final = 200.0
_FOOT_MM: Final = 286.0
_SMALLEST: Final = 0.8
"""How much smaller than its row a cell may be written."""
_ROW_MOST_MM: Final = 5.2
_ROW_LEAST_MM: Final = 3.4


def write_handover_pdf(handover: Handover, path: Path) -> None:
    """Write the handover page.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    write_pdf(path, f"Handover {handover.event}", lambda page: draw_handover(page, handover))


def draw_handover(page: Page, handover: Handover) -> None:
    """Draw the page: counts, every tyre, then what was learnt and what is left to do."""
    wide = RIGHT_MM - LEFT_MM
    page.text(LEFT_MM, 20.0, f"HANDOVER  {handover.event}", 17.0, bold=True, room=wide)
    days = f"{handover.first_day.isoformat()} to {handover.last_day.isoformat()}"
    if handover.first_day == handover.last_day:
        days = handover.first_day.isoformat()
    page.text(LEFT_MM, 26.0, f"{days} · {counts_words(handover)}", 10.0, room=wide)
    page.text(
        LEFT_MM,
        31.0,
        "≈ is an estimate, not a measurement. Marks of this event are void. "
        "The full list is in the file.",
        8.5,
        room=wide,
    )
    tyres = sorted(handover.tyres, key=lambda t: ("scrap hold".find(t.state) >= 0, t.tyre_id))
    room = _TABLE_FOOT_MM - 40.0
    shown = min(len(tyres), int(room // _ROW_LEAST_MM))
    row_mm = min(_ROW_MOST_MM, room / max(shown, 1))
    size = min(9.0, row_mm * 1.9)
    rows, below = _long_words_below(page, tyres[:shown], size)
    end = page.table(LEFT_MM, 34.0, _COLUMNS, rows, size, row_mm, bold=(0,))
    if shown < len(tyres):
        page.text(LEFT_MM, end + 4.0, f"and {len(tyres) - shown} more in the file", 9.0)
        end += 5.0
    _columns_of_words(page, [*below, *word_blocks(handover)], end + 7.0)


def _long_words_below(
    page: Page, tyres: Sequence[HandoverTyre], size_pt: float
) -> tuple[list[tuple[str, ...]], list[tuple[str, list[str]]]]:
    """Take out of the last column what would have to be cut, into a block of its own."""
    rows, below = [], dict[str, list[str]]()
    for tyre in tyres:
        *cells, why = tyre_cells(tyre)
        if page.width(why, _SMALLEST * size_pt) > _COLUMNS[-1][1] - 1.0:
            below.setdefault(why, []).append(tyre.tyre_id)
            why = "see TYRES below"
        rows.append((*cells, why))
    lines = [f"{', '.join(ids)}: {why}" for why, ids in below.items()]
    return rows, [("TYRES", lines)] if lines else []


def counts_words(handover: Handover) -> str:
    """Say what the limits were and what was used of them."""
    counts = handover.counts
    words = f"{counts.used} tyres used"
    if counts.limit is not None:
        words = f"{counts.used} of {counts.limit} tyres used"
    groups = [
        f"{group} {used}" + (f" of {counts.caps[group]}" if group in counts.caps else "")
        for group, used in sorted(counts.by_compound.items())
    ]
    if groups:
        words += f" ({', '.join(groups)})"
    if counts.jokers:
        words += f" · damage replacements {counts.jokers_used} of {counts.jokers}"
    return words


def tyre_cells(tyre: HandoverTyre) -> tuple[str, ...]:
    """Return one tyre's row."""
    sign = "≈ " if tyre.tread_source == "estimated" else ""
    depths = "  ".join(f"{depth:.1f}" for depth in tyre.tread_mm)
    edges = round(100.0 * sum(tyre.edge_share) / 3.0)
    total = "?" if tyre.stage_km is None else f"{tyre.stage_km:.0f}"
    cause = split_code(tyre.state_why)[1]
    damage = [one for one in tyre.damage if one not in cause]
    why = "; ".join(part for part in (cause, *damage, tyre.note) if part)
    what = " ".join(part for part in (tyre.maker, tyre.model, tyre.compound) if part)
    return (
        tyre.tyre_id,
        tyre.rim_id or "–",
        what,
        f"{sign}{depths}",
        f"{edges}",
        f"{tyre.event_km:.0f} / {total}",
        {"test": "test only", "hold": "on hold"}.get(tyre.state, tyre.state),
        why,
    )


def tyre_words(tyre: HandoverTyre) -> str:
    """Return one tyre's row where no heading stands over it: with its units."""
    name, rim, what, depths, edges, km, state, why = tyre_cells(tyre)
    here, _, total = km.partition(" / ")
    parts = [
        f"{rim}·{name}" if tyre.rim_id else name,
        what,
        f"{depths} mm",
        f"edges {edges} %",
        f"{here} km here, {total} in all",
        state,
        why,
    ]
    return " · ".join(part for part in parts if part)


def word_blocks(handover: Handover) -> list[tuple[str, list[str]]]:
    """Return what was learnt and what is left to do, most pressing first."""
    rims = [
        f"{rim.rim_id} {rim.state}" + (f": {rim.note}" if rim.note else "")
        for rim in handover.rims
        if rim.state != "good"
    ]
    wear = [
        f"{fig.compound} {fig.corner}, {fig.surface.replace('_', ' ')}: "
        f"{fig.mm_per_km:.3f} mm/km ({_behind(fig)})"
        for fig in handover.wear
    ]
    pressures = [
        f"{kept.place} {kept.axle} {kept.compound}: cold {kept.cold_kpa / 100:.2f} gave "
        f"hot {kept.hot_kpa / 100:.2f} bar"
        + (f" at {kept.air_c:.0f} °C" if kept.air_c is not None else "")
        for kept in handover.pressures
    ]
    own = [
        f"{call.place}: {call.override_name} chose otherwise, {call.override_reason}".rstrip(
            ", "
        )
        for call in handover.calls
        if call.override_name
    ]
    weather = [f"{seen.place}: {seen.what}; came {seen.came}" for seen in handover.forecasts]
    blocks = [
        ("OPEN QUESTIONS", list(handover.open_questions)),
        ("TO DO", list(handover.actions)),
        ("ORDER", list(handover.orders)),
        ("RIMS", rims),
        ("WHAT WAS LEARNT", list(handover.learnt_words)),
        ("WEAR SEEN", wear),
        ("PRESSURES THAT WORKED", pressures),
        ("OWN CHOICES", own),
        ("FORECAST AND WHAT CAME", weather),
        ("LESSONS", list(handover.lessons)),
    ]
    return [(heading, lines) for heading, lines in blocks if lines]


def _behind(figure: WearFigure) -> str:
    """Say how much stands behind a figure."""
    words = "1 stage" if figure.stages == 1 else f"{figure.stages} stages"
    if figure.road_low_c is None or figure.road_high_c is None:
        return words
    return f"{words}, road {figure.road_low_c:.0f} to {figure.road_high_c:.0f} °C"


def _columns_of_words(page: Page, blocks: Sequence[tuple[str, list[str]]], top: float) -> None:
    """Set the blocks in two columns; what finds no room is counted and said."""
    wide = (RIGHT_MM - LEFT_MM - 8.0) / 2.0
    size, step = 8.5, 3.9
    columns = (LEFT_MM, LEFT_MM + wide + 8.0)
    column, base, left_out = 0, top, 0
    for heading, words in blocks:
        laid = [page.lines(f"• {line}", size, wide) for line in words]
        if base + 2.0 * step > _FOOT_MM and column == 0:
            column, base = 1, top
        if base + 2.0 * step > _FOOT_MM:
            left_out += len(words)
            continue
        page.text(columns[column], base, heading, size, bold=True)
        base += step
        for lines in laid:
            if base + (len(lines) - 1) * step > _FOOT_MM and column == 0:
                column, base = 1, top
            if base + (len(lines) - 1) * step > _FOOT_MM:
                left_out += 1
                continue
            for line in lines:
                page.text(columns[column], base, line, size, room=wide)
                base += step
        base += step * 0.6
    if left_out:
        more = f"and {left_out} more lines in the file"
        page.text(RIGHT_MM, _FOOT_MM + 5.0, more, 8.5, align="right")
