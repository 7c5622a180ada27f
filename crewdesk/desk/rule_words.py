"""The lines of a set of rules in words for the crew, in the order of a window."""

import re
from collections.abc import Mapping
from typing import Any, Final

LINES: Final[Mapping[str, tuple[str, str]]] = {
    "qty_total": ("Tyres for the event", "How many"),
    "qty_per_leg": ("Tyres newly counted in one leg", "How many"),
    "qty_per_service": ("Tyres newly counted at one place", "How many"),
    "caps": ("Most of each compound", "How many"),
    "wets_count": ("Rain tyres count", "How many"),
    "prior_use_cap": ("Used tyres of earlier events", "How many"),
    "qty_shakedown": ("Tyres for the shakedown", "How many"),
    "shakedown_in_total": ("Shakedown tyres inside the total", "How many"),
    "count_rule": ("What makes a tyre count", "How many"),
    "joker_total": ("Damage replacements (jokers)", "How many"),
    "nominate_by": ("Nomination closes", "List and marks"),
    "registration_needed": ("Only tyres on the list", "List and marks"),
    "marks_needed": ("Only marked tyres", "List and marks"),
    "marks_per_tyre": ("Marks on each tyre", "List and marks"),
    "reuse_ok": ("A marked tyre may come back", "List and marks"),
    "maker_locked": ("All tyres of one maker", "List and marks"),
    "permitted_makers": ("Permitted makers", "List and marks"),
    "change_places": ("Where tyres may be changed", "Places"),
    "services_min": ("Length of the services", "Places"),
    "people_max": ("People at the car", "Places"),
    "wheel_must_return": ("Wheels come back with the car", "Places"),
    "last_service_change": ("Wheels may be changed at the last service", "Places"),
    "spare_min": ("Spares, at least", "Spares and axles"),
    "spare_max": ("Spares, at most", "Spares and axles"),
    "axle_mix": ("Different tyres on one axle", "Spares and axles"),
    "tread_min_mm": ("Least tread", "Tread and pattern"),
    "road_tread_min_mm": ("Least tread on the open road", "Tread and pattern"),
    "tread_span": ("Where the least tread is asked for", "Tread and pattern"),
    "winter_tread_min_mm": ("Least tread in winter", "Tread and pattern"),
    "winter_from": ("Winter begins", "Tread and pattern"),
    "winter_to": ("Winter ends", "Tread and pattern"),
    "groove_min_share": ("Least share of grooves", "Tread and pattern"),
    "groove_count_min": ("Least grooves around", "Tread and pattern"),
    "cut_allowed": ("Cutting by hand", "Tread and pattern"),
    "insert_allowed": ("Fillings in the tyre", "Tread and pattern"),
    "heat_or_chemicals_allowed": ("Warming and chemicals", "Tread and pattern"),
    "studs": ("Studs", "Tread and pattern"),
    "stud_watch": ("When worn studs are told of", "Tread and pattern"),
    "size_table": ("Size and rim of the class", "Tyre and road"),
    "cold_min_kpa": ("Least cold pressure", "Tyre and road"),
    "bead_seat_max_kpa": ("Most pressure for seating a bead", "Tyre and road"),
    "e_mark_needed": ("Approval mark asked for", "Tyre and road"),
    "age_watch_years": ("Age from which to watch", "Tyre and road"),
    "age_stop_years": ("Age from which a tyre is refused", "Tyre and road"),
    "stud_exemption_needed": ("Studs on open roads need an exemption", "Tyre and road"),
    "stud_exemption_reference": ("Reference of the exemption", "Tyre and road"),
    "retorque_after_km": ("Torque again after", "Tyre and road"),
    "timing_mode": ("How due times follow", "Time"),
    "gap_plan": ("Start intervals", "Time"),
    "early_s_per_min": ("A minute early costs", "Time"),
    "late_s_per_min": ("A minute late costs", "Time"),
    "out_of_time_min": ("Out of time after", "Time"),
    "flexi_window_to": ("Flexi window closes", "Time"),
    "legs": ("Legs", "Event"),
    "stages": ("Stages", "Event"),
    "car_classes": ("Classes", "Event"),
}
"""Words and group by field, in the order shown."""

_VALUES: Final = {
    "fitted_or_carried": "fitted or carried",
    "centre_3_4": "centre three quarters",
    "four_wheel_drive": "four-wheel drive",
    "two_wheel_drive": "two-wheel drive",
    "front_wheel_drive": "front-wheel drive",
    "tyre_zone": "tyre zone",
}

_CELLS: Final = {
    "service": "service",
    "zone": "tyre zone",
    "remote": "remote place",
    "per_dm": "on each 10 cm",
    "length_mm": "length, mm",
    "mass_g": "mass, g",
    "flange_mm": "flange, mm",
    "out_mm": "standing out under, mm",
    "lost_share": "lost over, share",
}


def line_words(name: str) -> tuple[str, str]:
    """Return the words and the group of a line."""
    parts = re.split(r"[.\[]", name.removesuffix("]"), maxsplit=1)
    words, group = LINES.get(parts[0], (parts[0].replace("_", " ").capitalize(), "Other"))
    if len(parts) > 1:
        words = f"{words}, {_CELLS.get(parts[1], parts[1])}"
    return words, group


def value_words(value: Any, unit: str = "", car_class: str = "") -> str:
    """Return a value as the crew reads it; a blank limit is not checked."""
    if value is None or value == "" or value == {} or value == ():
        return "not checked"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        if car_class and car_class in value:
            return value_words(value[car_class], unit)
        cells = (
            f"{_VALUES.get(str(k), _CELLS.get(str(k), str(k)))} {value_words(v)}"
            for k, v in value.items()
        )
        return ", ".join(cells)
    if isinstance(value, (list, tuple)):
        return ", ".join(value_words(one) for one in value)
    if unit == "kPa":
        return f"{float(value) / 100:.2f} bar"
    text = _VALUES.get(str(value), f"{value:g}" if isinstance(value, float) else str(value))
    return f"{text} {unit.replace('s/min', 's for each minute')}".strip()
