"""The rules line by line and cell by cell as a window edits them; typed words as values."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from crewdesk.desk.case import local, rules_of
from crewdesk.desk.regulation_edit import RuleLine, lines_of
from crewdesk.desk.rule_words import line_words, value_words
from crewdesk.desk.state import DayState
from crewdesk.documents.bundle import EventBundle
from crewdesk.documents.event import RuleValue
from crewdesk.regulations.build import RULE_FIELDS
from crewdesk.regulations.rulebook import Rulebook

TABLES: Final[Mapping[str, tuple[str, ...]]] = {
    "axle_mix": ("compound", "maker", "structure"),
    "people_max": ("service", "zone", "remote"),
    "size_table": ("size", "rim"),
    "studs": ("per_dm", "length_mm", "mass_g", "flange_mm"),
    "stud_watch": ("out_mm", "lost_share"),
}
"""Cells of the fields that are tables; those of ``caps`` are the stock's own."""

YES_NO: Final = "yes or no"
CHOICES: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "count_rule": (("fitted", "fitted"), ("fitted or carried", "fitted_or_carried")),
    "timing_mode": (("scheduled", "scheduled"), ("target", "target")),
    "axle_mix": (("block", "block"), ("warn", "warn"), ("allow", "allow")),
    "tread_span": (("centre three quarters", "centre_3_4"), ("full width", "full")),
}
"""Words and values of the fields that take one of a few."""

TOLD_HERE: Final = frozenset(
    {"gap_plan", "legs", "stages", "car_classes", "services_min", "change_places"}
)
"""Read by people only: the itinerary and the start order hold what counts."""


BAR: Final = frozenset({"cold_min_kpa", "bead_seat_max_kpa"})
"""Lines that are kept in kPa and typed in bar."""


def cells_in_force(bundle: EventBundle) -> tuple[RuleLine, ...]:
    """Return every line in force, tables cell by cell, each with where it came from."""
    rules = rules_of(bundle)
    told: list[RuleLine] = []
    for line in lines_of(bundle):
        if "." in line.name or "[" in line.name:
            continue
        keys = table_keys(bundle, line.name, rules)
        if keys is None:
            told.append(_plain(line))
            continue
        table = getattr(rules, line.name)
        told += [_cell(rules, line, key, table.get(key)) for key in keys]
    return tuple(told)


def table_keys(
    bundle: EventBundle, name: str, rules: Rulebook | None = None
) -> tuple[str, ...] | None:
    """Return the cells of a table, or None where the field is none."""
    if name == "caps":
        known = (rules or rules_of(bundle)).caps
        groups = {t.cap_group for t in bundle.stock.tyres if t.counts_against == "event"}
        return tuple(sorted({*groups, *known}))
    return TABLES.get(name)


def _cell(rules: Rulebook, line: RuleLine, key: str, value: Any) -> RuleLine:
    name = f"{line.name}.{key}"
    own = rules.values.get(name)
    shown = replace(
        line,
        name=name,
        words=line_words(name)[0],
        value=value,
        shown=value_words(value, line.unit),
    )
    return shown if own is None else _given(shown, own)


def _given(line: RuleLine, own: RuleValue) -> RuleLine:
    return replace(
        line,
        source=own.source,
        article=own.article,
        bulletin_no=own.bulletin_no,
        valid_from=own.valid_from,
        entered_by=own.entered_by,
        own=True,
    )


def _plain(line: RuleLine) -> RuleLine:
    if line.name in BAR and not line.unit:
        return replace(line, unit="kPa", shown=value_words(line.value, "kPa"))
    if line.name == "gap_plan" and isinstance(line.value, (list, tuple)):
        parts = [
            f"{one['gap_min']:g} min from number {one['from_position']}"
            for one in line.value
            if isinstance(one, Mapping) and "gap_min" in one and "from_position" in one
        ]
        return replace(line, shown=", ".join(parts) or line.shown)
    return line


def choices_of(name: str) -> tuple[tuple[str, Any], ...]:
    """Return the words and values to choose from; empty where the value is typed."""
    head = name.partition(".")[0]
    field = RULE_FIELDS.get(head)
    if field is not None and field.takes == YES_NO:
        return (("yes", True), ("no", False))
    return CHOICES.get(head, ())


def typed_value(name: str, text: str) -> Any:
    """Return what was typed as the value that the line keeps; blank: nothing is checked.

    >>> typed_value("qty_total", "18"), typed_value("tread_min_mm", "1,6")
    (18, 1.6)
    >>> typed_value("cold_min_kpa", "1.70"), typed_value("cold_min_kpa", "170")
    (170.0, 170)
    """
    words = text.strip()
    if not words:
        return None
    for shown, value in choices_of(name):
        if words.lower() in (shown, str(value).lower()):
            return value
    try:
        number = float(words.replace(",", "."))
    except ValueError:
        return words
    if name in BAR and number < 20:
        return round(100 * number, 3)
    return int(number) if number.is_integer() else number


def text_of(line: RuleLine, car_class: str = "") -> str:
    """Return a line's value as it is typed."""
    value = line.value
    if isinstance(value, Mapping) and car_class in value:
        value = value[car_class]
    if value is None or value in ("", (), []):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if line.unit == "kPa" and isinstance(value, (int, float)):
        return f"{value / 100:.2f}"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(str(one) for one in value)
    return line.shown if isinstance(value, Mapping) else str(value)


# ---- what the past ran under


@dataclass(frozen=True)
class RanUnder:
    """One fitting with the rules that held when it was made."""

    place: str
    at: str
    """Local day and time."""
    set_name: str
    differs: tuple[str, ...]
    """Lines that have another value now, as "Tyres for the event 18 (now 16)"."""


def ran_under(bundle: EventBundle, state: DayState) -> tuple[RanUnder, ...]:
    """Return the fittings made so far with what has changed since."""
    now = rules_of(bundle)
    told = []
    for fitting in state.fittings:
        if fitting.rules is None:
            continue
        told.append(
            RanUnder(
                place=fitting.place,
                at=f"{local(bundle, fitting.at):%a %H:%M}",
                set_name=fitting.rules.name,
                differs=_differs(fitting.rules, now),
            )
        )
    return tuple(told)


def _differs(then: Rulebook, now: Rulebook) -> tuple[str, ...]:
    parts = []
    for name, field in RULE_FIELDS.items():
        old, new = getattr(then, name), getattr(now, name)
        if old == new:
            continue
        if isinstance(old, Mapping) and isinstance(new, Mapping):
            cells = [k for k in {**old, **new} if old.get(k) != new.get(k)]
        else:
            cells = [""]
        for cell in cells:
            whole = f"{name}.{cell}" if cell else name
            was = value_words(old.get(cell) if cell else old, field.unit)
            has = value_words(new.get(cell) if cell else new, field.unit)
            parts.append(f"{line_words(whole)[0]} {was} (now {has})")
    return tuple(parts)
