"""``stock.csv`` to tyres: blanks resolved by the rules of the table, the rest is a fault."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast, get_args

from crewdesk.documents.cells import CellReader
from crewdesk.documents.event import EventFile, Family, Hardness, Rim, TyreModel
from crewdesk.documents.faults import Findings, quoted
from crewdesk.documents.plain_words import validated
from crewdesk.documents.stock import LockWord, Stock, StockTyre
from crewdesk.documents.tables import Table, TableRow, read_table
from crewdesk.documents.tyre_sizes import RIM, normalised, size_readable

STOCK_FILE = "stock.csv"
COLUMNS = (
    "tyre_id", "mark", "maker", "model", "compound", "use", "size", "rim", "rim_id", "dot",
    "e_mark", "service_desc", "condition", "tread_new_mm", "tread_in_mm", "tread_mid_mm",
    "tread_out_mm", "stage_km", "heat_cycles", "studs", "price_units", "counts_against",
    "registered", "location", "edge_brake_share", "edge_drive_share", "edge_side_share",
    "side_run", "direction", "lock", "terms", "hardness_shore_a", "first_mounted", "stack",
    "code", "note",
)  # fmt: skip
OPTIONAL = (
    "edge_brake_share", "edge_drive_share", "edge_side_share", "side_run", "direction", "lock",
    "terms", "hardness_shore_a", "first_mounted", "stack", "code", "note",
)  # fmt: skip
NEEDED = tuple(name for name in COLUMNS if name not in OPTIONAL)
FAMILIES: tuple[str, ...] = get_args(Family)
LOCKS: tuple[str, ...] = get_args(LockWord)
EDGE_LENGTH_MM: Final = 4.5
"""Depth of wear over which an edge not given in the table has rounded off; tuning value."""
WORD_HARDNESS: Final[Mapping[str, tuple[str, Hardness]]] = {
    "soft": ("", "soft"),
    "medium": ("", "medium"),
    "hard": ("", "hard"),
    "wet": ("asphalt_wet", "medium"),
    "studded": ("winter", "medium"),
}
"""By compound word: the only family it is made for (empty: any) and its hardness."""
_CODES: Final[Mapping[tuple[str, str], str]] = {
    **{(family, "hard"): "D1" for family in ("gravel", "asphalt")},
    **{(family, "medium"): "D2" for family in ("gravel", "asphalt")},
    **{(family, "soft"): "D3" for family in ("gravel", "asphalt")},
    ("asphalt_wet", "hard"): "R1",
    ("asphalt_wet", "medium"): "R1",
    ("asphalt_wet", "soft"): "R2",
}
_DOT = re.compile(r"(0[1-9]|[1-4]\d|5[0-3])\d\d")
_SERVICE = re.compile(r"\(?\d{2,3}(/\d{2,3})?[A-Z]\d?\)?")


@dataclass
class StockRead:
    """The stock with what it adds to the event file."""

    stock: Stock
    models: tuple[TyreModel, ...]
    """All models, those of the event file first."""
    rims: tuple[Rim, ...]
    table: Table


def edge_from_wear(tread_new_mm: float, mean_mm: float) -> float:
    """Return the sharpness left on an edge of a worn tyre, S = exp(-(new - mean) / length).

    >>> round(edge_from_wear(9.5, 9.5), 3)
    1.0
    """
    return min(1.0, math.exp(-max(0.0, tread_new_mm - mean_mm) / EDGE_LENGTH_MM))


def read_stock(text: str, event: EventFile, found: Findings) -> StockRead | None:
    """Return the stock, or None where nothing can be read."""
    table = read_table(STOCK_FILE, text, COLUMNS, NEEDED, found)
    if table is None:
        return None
    if not table.rows:
        found.fault(
            STOCK_FILE, "There is no tyre under the heading.", "Add a row for each tyre."
        )
        return None
    models = {(m.maker, m.model, m.compound): m for m in event.models}
    tyres: list[tuple[TableRow, StockTyre]] = []
    for line in table.rows:
        tyre = _read_tyre(CellReader(STOCK_FILE, line, found), models, table, found)
        if tyre is not None:
            tyres.append((line, tyre))
    _check_doubles(table.rows, found)
    rims = _check_rims([(line.line, tyre) for line, tyre in tyres], event, found)
    return StockRead(
        Stock(tyres=tuple(tyre for _line, tyre in tyres), comments=table.comments),
        tuple(models.values()),
        rims,
        table,
    )


def _read_tyre(
    cell: CellReader,
    models: dict[tuple[str, str, str], TyreModel],
    table: Table,
    found: Findings,
) -> StockTyre | None:
    tyre_id = cell.needed("tyre_id", "Give the tyre the name it has in the crew, as H07.")
    maker = cell.needed("maker", "Write it as on the sidewall.")
    model_name = cell.needed("model", "Write it as on the sidewall.")
    compound = cell.needed("compound", f"Words: {', '.join(WORD_HARDNESS)}.")
    if not cell.text("use"):
        cell.needed("use", f"Allowed: {', '.join(FAMILIES)}.")
    use = cell.word("use", FAMILIES)
    if cell.failed:
        return None
    known = models.get((maker, model_name, compound))
    model = known or _model_from_row(cell, maker, model_name, compound, use)
    if model is None:
        return None
    if model.family != use:
        cell.fault(
            "use",
            f"{tyre_id} is for {use}; event.json has {maker} {model_name} {compound} "
            f"for {model.family}.",
            "Put one of the two right.",
        )
    assumed: list[str] = []
    values = _plain_values(cell)
    values.update(tyre_id=tyre_id, maker=maker, model=model_name, compound=compound, use=use)
    values["size"] = _size(cell, model)
    new = _is_new(cell)
    values["new"] = new
    values.update(_wear(cell, tyre_id, model, assumed, new=new))
    values["direction"] = _direction(cell, model, assumed, found)
    values["hardness"] = model.hardness
    values["cap_group"] = model.cap_group or compound
    default_code = _CODES.get((use, model.hardness), "W1")
    values["code"] = cell.text("code") or default_code
    values["extra"] = {name: cell.text(name) for name in table.unknown if cell.text(name)}
    values["assumed"] = tuple(assumed)
    if cell.failed:
        return None
    if known is None:
        models[maker, model_name, compound] = model
        found.assume(
            f"{maker} {model_name} {compound}: an ordinary {model.hardness} tyre for "
            f"{use.replace('_', ' ')}."
        )
    elif known.tread_new_mm is None and values["tread_new_mm"]:
        models[maker, model_name, compound] = known.model_copy(
            update={"tread_new_mm": values["tread_new_mm"]}
        )
    for phrase in assumed:
        found.assume(f"{tyre_id}: {phrase}.")
    return validated(StockTyre, STOCK_FILE, values, found, where=cell.row.where)


def _plain_values(cell: CellReader) -> dict[str, Any]:
    """Return the columns that stand as they are."""
    values: dict[str, Any] = {
        name: cell.text(name) for name in ("mark", "rim", "rim_id", "dot", "stack", "note")
    }
    values["service_desc"] = cell.text("service_desc")
    values["e_mark"] = cell.yes_no("e_mark")
    values["studs"] = cell.whole("studs", 0, 1000)
    values["price"] = cell.number("price_units", 0, 1e6)
    values["counts_against"] = cell.word(
        "counts_against", ("event", "shakedown", "none"), default="event"
    )
    values["registered"] = cell.yes_no("registered") or False
    values["location"] = cell.word(
        "location", ("stock", "zone", "car", "away"), default="stock"
    )
    values["side_run"] = cell.word("side_run", ("", "left", "right", "both"))
    values["lock"] = cell.word("lock", LOCKS)
    values["terms"] = cell.word("terms", ("own", "returnable", "hired"), default="own")
    values["hardness_shore_a"] = cell.number("hardness_shore_a", 10, 100, "Shore A")
    values["first_mounted"] = cell.day("first_mounted")
    if values["dot"] and not _DOT.fullmatch(values["dot"]):
        cell.fault(
            "dot",
            f"{quoted(values['dot'])} is no date code.",
            "Four digits, week and year, as 1826.",
        )
    if values["service_desc"] and not _SERVICE.fullmatch(values["service_desc"].upper()):
        cell.fault(
            "service_desc",
            f"{quoted(values['service_desc'])} is no load index with speed symbol.",
            "Write it as 95T, or leave it empty.",
        )
    if values["rim"] and not RIM.fullmatch(normalised(values["rim"])):
        cell.fault("rim", f"{quoted(values['rim'])} is no rim.", "Write it as 7Jx15.")
    return values


def _model_from_row(
    cell: CellReader, maker: str, model: str, compound: str, use: str
) -> TyreModel | None:
    """Return the model that the row itself describes, where its compound word is known."""
    way = WORD_HARDNESS.get(compound.lower())
    if way is None:
        cell.fault(
            "compound",
            f"{quoted(compound)} is no compound this program knows.",
            f"Write one of {', '.join(WORD_HARDNESS)}, or add {maker} {model} {compound} to "
            f"the models in event.json with its hardness.",
        )
        return None
    family, hardness = way
    if family and family != use:
        cell.fault(
            "compound",
            f"A {compound} tyre is for {family}, the row says {use}.",
            "Put one of the two right.",
        )
        return None
    return TyreModel(
        maker=maker,
        model=model,
        compound=compound,
        family=cast("Family", use),
        hardness=hardness,
        size=cell.text("size"),
        directional=cell.text("direction").lower() in ("left", "right", "arrow"),
    )


def _size(cell: CellReader, model: TyreModel) -> str:
    size = cell.text("size") or model.size
    if not size:
        cell.needed("size", "Write the mark on the sidewall, as 17/65-15.")
    elif not size_readable(size):
        cell.fault(
            "size", f"{quoted(size)} is no tyre size.", "Write it as 17/65-15 or 195/65 R15."
        )
    return size


def _is_new(cell: CellReader) -> bool:
    condition = cell.word("condition", ("new", "used"))
    if condition:
        return condition == "new"
    run_km = cell.text("stage_km")
    if run_km:
        try:
            return float(run_km) == 0.0
        except ValueError:
            return False
    depths = [cell.text(f"tread_{part}_mm") for part in ("in", "mid", "out")]
    whole = cell.text("tread_new_mm")
    return all(depth in ("", whole) for depth in depths)


def _wear(
    cell: CellReader, tyre_id: str, model: TyreModel, assumed: list[str], *, new: bool
) -> dict[str, Any]:
    """Return depth, edges and what the tyre has run."""
    whole_mm = cell.number("tread_new_mm", 0.5, 40, "mm", default=model.tread_new_mm)
    if whole_mm is None:
        if not cell.text("tread_new_mm"):
            cell.needed("tread_new_mm", "Write the depth when new in mm, as 9.5.")
        whole_mm = 0.0
    depths: list[float] = []
    for part in ("in", "mid", "out"):
        column = f"tread_{part}_mm"
        if not cell.text(column) and not new:
            cell.needed(column, f"{tyre_id} is used: write the depth now in mm.")
        depth = cell.number(column, 0, 40, "mm", default=whole_mm)
        if depth is not None and depth > whole_mm > 0:
            cell.fault(
                column,
                f"{tyre_id} has {depth:g} mm, more than the {whole_mm:g} mm of a new one.",
                "Put the depth or tread_new_mm right.",
            )
        depths.append(depth or 0.0)
    missing_edges = edge_from_wear(whole_mm, sum(depths) / 3)
    edges: list[float] = []
    blank = False
    for way in ("brake", "drive", "side"):
        column = f"edge_{way}_share"
        edge = cell.number(column, 0, 1)
        blank = blank or (edge is None and not new)
        edges.append((1.0 if new else missing_edges) if edge is None else edge)
    if blank and not cell.failed:
        assumed.append(f"edges {missing_edges:.2f} from the tread worn off")
    return {
        "tread_new_mm": whole_mm,
        "tread_mm": tuple(depths),
        "edge_share": tuple(edges),
        "stage_km": cell.number("stage_km", 0, 2000, "km", default=0.0 if new else None),
        "heat_cycles": cell.whole("heat_cycles", 0, 1000, default=0 if new else None),
    }


def _direction(cell: CellReader, model: TyreModel, assumed: list[str], found: Findings) -> str:
    direction = cell.word("direction", ("free", "left", "right", "arrow"))
    if direction:
        return direction
    if model.directional:
        assumed.append("built for one sense of rotation, not mounted for a side yet")
        return "arrow"
    if model.family == "gravel":
        found.assume(f"{model.maker} {model.model}: turns either way.")
    return "free"


def _check_doubles(lines: Sequence[TableRow], found: Findings) -> None:
    words = {"tyre_id": ("Tyre", "Give each tyre a name of its own."),
             "mark": ("Mark", "Every tyre has an official mark of its own; look at both."),
             "rim_id": ("Rim", "A rim carries one tyre; look at both.")}  # fmt: skip
    for column, (word, hint) in words.items():
        rows: dict[str, list[int]] = {}
        for line in lines:
            if line.cells.get(column):
                rows.setdefault(line.cells[column], []).append(line.line)
        for name, where in rows.items():
            if len(where) > 1:
                times = "twice" if len(where) == 2 else f"{len(where)} times"
                first = ", ".join(str(row) for row in where[: min(5, len(where) - 1)])
                first += " ..." if len(where) > 6 else ""
                found.fault(
                    STOCK_FILE,
                    f"{word} {name} is listed {times}, rows {first} and {where[-1]}.",
                    hint,
                    where=f"row {where[-1]}",
                    column=column,
                    value=name,
                )


_ON_THE_CAR: Final = 4


def _check_rims(
    tyres: Sequence[tuple[int, StockTyre]], event: EventFile, found: Findings
) -> tuple[Rim, ...]:
    """Return the rims; where the event file lists none, those the tyres stand on."""
    rims = {rim.rim_id: rim for rim in event.rims}
    listed = bool(rims)
    for row, tyre in tyres:
        if not tyre.rim_id:
            continue
        if not listed:
            rims.setdefault(tyre.rim_id, Rim(rim_id=tyre.rim_id, rim=tyre.rim))
            continue
        rim = rims.get(tyre.rim_id)
        if rim is None:
            found.fault(
                STOCK_FILE,
                f"{tyre.tyre_id} stands on rim {tyre.rim_id}, which event.json does not list.",
                "Add the rim to event.json or put the number right.",
                where=f"row {row}",
                column="rim_id",
                value=tyre.rim_id,
            )
        elif tyre.rim and rim.rim and normalised(tyre.rim) != normalised(rim.rim):
            found.fault(
                STOCK_FILE,
                f"{tyre.tyre_id} needs a rim {tyre.rim}, but {tyre.rim_id} is {rim.rim}.",
                "Put the rim or its number right.",
                where=f"row {row}",
                column="rim",
                value=tyre.rim,
            )
    if rims and not listed:
        found.assume(f"Rims: only the {len(rims)} that tyres stand on.")
    if not 0 < len(rims) < _ON_THE_CAR <= len(tyres):
        return tuple(rims.values())
    # A car would have to go out on fewer wheels than it has corners.
    if listed:
        found.fault(
            "event.json",
            f"{len(rims)} rims are listed for {len(tyres)} tyres; a car needs four.",
            "List every rim there is, or none.",
            column="rims",
            value=str(len(rims)),
        )
    else:
        row = next((row for row, tyre in tyres if not tyre.rim_id), tyres[0][0])
        found.fault(
            STOCK_FILE,
            f"Wheels are named for {len(rims)} of {len(tyres)} tyres; a car needs four.",
            "Name the wheel of every tyre that is on one, or of none.",
            where=f"row {row}",
            column="rim_id",
        )
    return tuple(rims.values())
