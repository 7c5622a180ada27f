"""The rulebook in force: a regulation set, the event's own values over it, then bulletins."""

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import Any, Final

from crewdesk.documents.bundle import RegulationSet
from crewdesk.documents.event import RuleValue
from crewdesk.errors import DocumentError
from crewdesk.regulations.rulebook import Rulebook

Convert = Callable[[Any], Any]


class _WrongError(Exception):
    """A value that its field does not take; the words say what it takes."""


@dataclass(frozen=True)
class RuleField:
    """One field that a regulation may set."""

    convert: Convert
    takes: str
    """Plain words for the values allowed."""
    unit: str = ""
    blank: Any = None
    """What a blank means in the rulebook."""


def _number(least: float = 0.0, most: float = 1e6) -> Convert:
    def convert(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise _WrongError
        if not (math.isfinite(value) and least <= value <= most):
            raise _WrongError
        return float(value)

    return convert


def _whole(most: int = 1000) -> Convert:
    number = _number(0, most)

    def convert(value: Any) -> int:
        found = number(value)
        if found != int(found):
            raise _WrongError
        return int(found)

    return convert


def _yes_no(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.strip().lower() in {"yes", "no"}:
        return value.strip().lower() == "yes"
    raise _WrongError


def _word(*allowed: str) -> Convert:
    def convert(value: Any) -> str:
        if not isinstance(value, str) or (allowed and value not in allowed):
            raise _WrongError
        return value

    return convert


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise _WrongError
    return value.strip()


def _table(inner: Convert, *, keys: Iterable[str] = (), blanks: bool = False) -> Convert:
    known = frozenset(keys)

    def convert(value: Any) -> dict[str, Any]:
        if not isinstance(value, Mapping) or (known and set(value) - known):
            raise _WrongError
        return {
            str(key): (None if one is None else inner(one))
            for key, one in value.items()
            if one is not None or blanks
        }

    return convert


def _list(value: Any) -> tuple[str, ...]:
    if isinstance(value, str):
        value = [part for part in value.split(",") if part.strip()]
    if not isinstance(value, (list, tuple)) or not all(isinstance(one, str) for one in value):
        raise _WrongError
    return tuple(one.strip() for one in value)


def _form(pattern: str) -> Convert:
    def convert(value: Any) -> str:
        if not isinstance(value, str) or not re.fullmatch(pattern, value.strip()):
            raise _WrongError
        return value.strip()

    return convert


_MIX: Final = ("block", "warn", "allow")
_YES: Final = "yes or no"
_DAY: Final = r"(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])"
_COUNT: Final = "a whole number from 0, or blank"

RULE_FIELDS: Final[Mapping[str, RuleField]] = {
    "qty_total": RuleField(_whole(), _COUNT),
    "qty_shakedown": RuleField(_whole(), _COUNT, blank=0),
    "shakedown_in_total": RuleField(_yes_no, _YES, blank=False),
    "caps": RuleField(_table(_whole()), "whole numbers by compound or cap group", blank={}),
    "count_rule": RuleField(
        _word("fitted", "fitted_or_carried"),
        "fitted or fitted_or_carried",
        blank="fitted_or_carried",
    ),
    "marks_needed": RuleField(_yes_no, _YES, blank=False),
    "registration_needed": RuleField(_yes_no, _YES, blank=False),
    "spare_min": RuleField(_whole(2), "0, 1 or 2", blank=0),
    "spare_max": RuleField(_whole(2), "0, 1 or 2", blank=2),
    "wheel_must_return": RuleField(_yes_no, _YES, blank=False),
    "tread_min_mm": RuleField(_number(0, 20), "a number from 0 to 20 mm", "mm", 0.0),
    "winter_tread_min_mm": RuleField(_number(0, 20), "a number from 0 to 20 mm", "mm"),
    "axle_mix": RuleField(
        _table(_word(*_MIX), keys=("compound", "maker", "structure")),
        "block, warn or allow for compound, maker and structure",
        blank={},
    ),
    "joker_total": RuleField(_whole(), _COUNT, blank=0),
    "people_max": RuleField(
        _table(_whole(), keys=("service", "zone", "remote"), blanks=True),
        "whole numbers for service, zone and remote",
        blank={},
    ),
    "last_service_change": RuleField(_yes_no, _YES, blank=True),
    "size_table": RuleField(
        _table(_text, keys=("size", "rim")), "a size and a rim, as 17/65-15 and 7Jx15", blank={}
    ),
    "e_mark_needed": RuleField(_yes_no, _YES, blank=False),
    "age_watch_years": RuleField(_number(0, 100), "a number of years", "years", math.inf),
    "age_stop_years": RuleField(_number(0, 100), "a number of years", "years", math.inf),
    "early_s_per_min": RuleField(_number(0, 3600), "seconds from 0", "s/min", 0.0),
    "late_s_per_min": RuleField(_number(0, 3600), "seconds from 0", "s/min", 0.0),
    "out_of_time_min": RuleField(_number(0, 1440), "minutes from 0", "min", math.inf),
    "cut_allowed": RuleField(_yes_no, _YES, blank=False),
    "insert_allowed": RuleField(_yes_no, _YES, blank=False),
    "heat_or_chemicals_allowed": RuleField(_yes_no, _YES, blank=False),
    "maker_locked": RuleField(_yes_no, _YES, blank=False),
    "groove_min_share": RuleField(_number(0, 1), "a share from 0 to 1", blank=0.0),
    "groove_count_min": RuleField(_whole(50), _COUNT, blank=0),
    "studs": RuleField(
        _table(_number(0, 100), keys=("per_dm", "length_mm", "mass_g", "flange_mm")),
        "numbers for per_dm, length_mm, mass_g and flange_mm",
        blank={},
    ),
    "stud_watch": RuleField(
        _table(_number(0, 20), keys=("out_mm", "lost_share")),
        "numbers for out_mm and lost_share",
        blank={},
    ),
    "stud_exemption_needed": RuleField(_yes_no, _YES, blank=False),
    "stud_exemption_reference": RuleField(_text, "text", blank=""),
    "retorque_after_km": RuleField(_number(0, 1000), "a number of km", "km", 50.0),
    "cold_min_kpa": RuleField(_number(50, 600), "a pressure from 50 to 600 kPa", "kPa"),
    "qty_per_leg": RuleField(_whole(), _COUNT),
    "qty_per_service": RuleField(_whole(), _COUNT),
    "wets_count": RuleField(_yes_no, _YES, blank=True),
    "nominate_by": RuleField(_text, "a date with time, or a weekday with time", blank=""),
    "reuse_ok": RuleField(_yes_no, _YES, blank=True),
    "prior_use_cap": RuleField(_whole(), _COUNT),
    "permitted_makers": RuleField(_list, "names with commas", blank=()),
    "road_tread_min_mm": RuleField(_number(0, 20), "a number from 0 to 20 mm", "mm", 0.0),
    "winter_from": RuleField(_form(_DAY), "a day of the year as 12-01", blank=""),
    "winter_to": RuleField(_form(_DAY), "a day of the year as 03-31", blank=""),
    "timing_mode": RuleField(
        _word("scheduled", "target"), "scheduled or target", blank="scheduled"
    ),
    "flexi_window_to": RuleField(
        _form(r"([01]\d|2[0-3]):[0-5]\d"), "a time as 21:00", blank=""
    ),
}
"""Every field that the rules look at, by its name in the rulebook."""

ALIASES: Final[Mapping[str, str]] = {
    "cap": "caps",
    "tread_min": "tread_min_mm",
    "winter_tread_min": "winter_tread_min_mm",
    "cut_ok": "cut_allowed",
    "insert_ok": "insert_allowed",
    "e_mark_required": "e_mark_needed",
    "otl_min": "out_of_time_min",
    "p_min_cold": "cold_min_kpa",
}
"""Other names that papers give to a field."""

TOLD_ONLY: Final = frozenset(
    {
        "legs",
        "stages",
        "car_classes",
        "marks_per_tyre",
        "change_places",
        "services_min",
        "tread_span",
        "bead_seat_max_kpa",
        "gap_plan",
    }
)
"""Fields that a set carries to be read by people; no rule looks at them."""


def field_fault(name: str, value: Any, car_class: str = "", unit: str = "") -> str:
    """Return what is wrong with one value of the regulations in plain words, or nothing."""
    try:
        _converted(name, value, car_class, unit)
    except DocumentError as error:
        return error.message
    return ""


def rulebook(
    rules: Mapping[str, RuleValue],
    regulation_set: RegulationSet,
    car_class: str,
    changes: Sequence[tuple[str, RuleValue]] = (),
    day: date | None = None,
) -> Rulebook:
    """Return the rules in force.

    Parameters
    ----------
    rules : Mapping[str, RuleValue]
        The event's own values; they win over the set.
    regulation_set : RegulationSet
        The set that the event names.
    car_class : str
        As ``four_wheel_drive``; picks from values given by class.
    changes : Sequence[tuple[str, RuleValue]]
        Bulletins in their order; the last one wins. One cell of a table is named with a
        point, as ``caps.hard``.
    day : date | None
        Day for which the rules are asked: a winter minimum with a season is in force only
        inside it. None: in force.

    Notes
    -----
    Of the sport's least tread and the open road's the deeper one is in force.

    Raises
    ------
    DocumentError
        Listing every unknown field and every value that a field does not take.
    """
    values: dict[str, Any] = {name: field.blank for name, field in RULE_FIELDS.items()}
    sources: dict[str, str] = {}
    given_as: dict[str, RuleValue] = {}
    faults: list[str] = []
    layers = [
        *(
            (name, RuleValue(value=value, source=regulation_set.sources.get(name, "")), "")
            for name, value in regulation_set.fields.items()
        ),
        *((name, value, _source(value)) for name, value in rules.items()),
        *((name, value, _source(value)) for name, value in changes),
    ]
    for name, given, source in layers:
        try:
            field, cell, converted = _converted(name, given.value, car_class, given.unit)
        except DocumentError as error:
            faults.append(error.message)
            continue
        given_as[f"{field}.{cell}" if cell else field] = given
        if field in TOLD_ONLY:
            continue
        if cell:
            converted = {
                key: one
                for key, one in {**values[field], cell: converted}.items()
                if one is not None or field == "people_max"
            }
        values[field] = converted
        sources[field] = source
    if faults:
        raise DocumentError(
            "The rules of the event do not hold together: " + "; ".join(faults) + ".",
            hint="Put these values right in event.json or in the bulletin's entry.",
        )
    if values["spare_min"] > values["spare_max"]:
        raise DocumentError(
            f"spare_min is {values['spare_min']} and spare_max is {values['spare_max']}: "
            "no number of spares fits both.",
            hint="Put one of the two right.",
        )
    if values["road_tread_min_mm"] > values["tread_min_mm"]:
        values["tread_min_mm"] = values["road_tread_min_mm"]
        sources["tread_min_mm"] = sources.get("road_tread_min_mm", "")
    if day is not None and not _in_season(day, values["winter_from"], values["winter_to"]):
        values["winter_tread_min_mm"] = None
    told = {name: source for name, source in sources.items() if source}
    return Rulebook(
        name=regulation_set.name,
        car_class=car_class,
        sources=told,
        values=given_as,
        **values,
    )


def _in_season(day: date, first: str, last: str) -> bool:
    """Say whether a day lies between two days of the year, over New Year where they turn."""
    if not (first and last):
        return True
    now = f"{day:%m-%d}"
    return first <= now <= last if first <= last else now >= first or now <= last


def _source(value: RuleValue) -> str:
    bulletin = f"bulletin {value.bulletin_no}" if value.bulletin_no else ""
    article = f"art. {value.article}" if value.article else ""
    return ", ".join(part for part in (value.source, bulletin, article) if part)


def _converted(name: str, value: Any, car_class: str, unit: str) -> tuple[str, str, Any]:
    """Return the field, the cell of its table (or nothing) and the value for the rulebook."""
    head, _, cell = name.strip().replace("[", ".").removesuffix("]").partition(".")
    head = ALIASES.get(head, head)
    if head in TOLD_ONLY:
        return head, cell, value
    field = RULE_FIELDS.get(head)
    if field is None:
        near = get_close_matches(head, [*RULE_FIELDS, *ALIASES, *TOLD_ONLY], n=1)
        meant = f" (perhaps {ALIASES.get(near[0], near[0])}?)" if near else ""
        raise DocumentError(f"there is no rule named {name}{meant}")
    if unit and field.unit and unit.strip() != field.unit:
        raise DocumentError(f"{name} is given in {unit}; it is kept in {field.unit}")
    value = _of_class(name, value, car_class, table=isinstance(field.blank, dict))
    try:
        if cell:
            if not isinstance(field.blank, dict):
                raise _WrongError  # noqa: TRY301
            if value is None:
                return head, cell, None
            return head, cell, field.convert({cell: value})[cell]
        return head, "", field.blank if value is None else field.convert(value)
    except _WrongError:
        raise DocumentError(f"{name} is {value!r}; allowed: {field.takes}") from None


_CLASSES: Final = frozenset({"four_wheel_drive", "two_wheel_drive", "front_wheel_drive", "all"})


def _of_class(name: str, value: Any, car_class: str, *, table: bool) -> Any:
    """Return the value of our class where one is given for each class."""
    if not isinstance(value, Mapping) or not value:
        return value
    by_class = set(value) <= _CLASSES or car_class in value or (not table and "all" in value)
    if table and not by_class:
        return value
    if not by_class and not table:
        kinds = ", ".join(str(key) for key in value)
        raise DocumentError(
            f"{name} has no value for the class {car_class} (there are: {kinds})"
        )
    if car_class in value:
        return value[car_class]
    if "all" in value:
        return value["all"]
    if car_class == "front_wheel_drive" and "two_wheel_drive" in value:
        return value["two_wheel_drive"]
    kinds = ", ".join(str(key) for key in value)
    raise DocumentError(f"{name} has no value for the class {car_class} (there are: {kinds})")
