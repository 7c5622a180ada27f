"""From what the documents say of car, tyres and stages to what the physics takes."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from crewdesk.documents.catalogue import compound_tables, family_tables, surface_tables
from crewdesk.documents.event import Car, TyreModel
from crewdesk.documents.stock import StockTyre
from crewdesk.physics.car import CarParams
from crewdesk.physics.catalogue import compound_from, surface_from
from crewdesk.physics.size import size_m
from crewdesk.physics.surface import SurfaceParams
from crewdesk.physics.tyre import TyreSpec

LOOSE_SIZE_M = (0.190, 0.650)
ASPHALT_SIZE_M = (0.210, 0.645)
"""Width and outer diameter where the mark cannot be read. Common practice, no source."""
FITTED_LOSS = 0.4
"""Share of the price that goes when a tyre is first fitted. Common practice, no source."""


def known_size_m(*marks: str) -> tuple[float, float] | None:
    """Return width and outer diameter [m] of the first mark that can be read, or None."""
    for mark in marks:
        try:
            return size_m(mark)
        except ValueError:
            continue
    return None


def car_params(car: Car) -> CarParams:
    """Return the car as the physics takes it."""
    return CarParams(
        mass_kg=car.mass_kg,
        front_share=car.front_share,
        wheelbase_m=car.wheelbase_m,
        cg_height_m=car.cg_height_m,
        track_m=car.track_m,
        brake_front_share=car.brake_front_share,
        drive_front_share=car.drive_front_share,
        power_kw=car.power_kw,
    )


@dataclass(frozen=True)
class Catalogue:
    """The compounds and surfaces that ship."""

    compounds: Mapping[tuple[str, str], Mapping[str, object]]
    """Numbers by family and hardness."""
    surfaces: Mapping[str, SurfaceParams]
    """By name."""
    families: Mapping[str, Mapping[str, float]]
    """Land ratio, edge length, share of the worth in the edges, depth worth nothing."""


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """Return the shipped catalogue, read once."""
    return Catalogue(
        compounds={(row["family"], row["hardness"]): row for row in compound_tables()},
        surfaces={row["name"]: surface_from(row) for row in surface_tables()},
        families={
            row["family"]: {
                name: cell["value"] for name, cell in row.items() if isinstance(cell, dict)
            }
            for row in family_tables()
        },
    )


def tyre_spec(stock: StockTyre, model: TyreModel) -> TyreSpec:
    """Return a tyre as the physics takes it.

    Parameters
    ----------
    stock : StockTyre
        Row of the stock table; its depth when new wins over the model's.
    model : TyreModel
        Model as bought.

    Returns
    -------
    TyreSpec
        Spec.

    Raises
    ------
    ValueError
        If the catalogue has no compound of that family and hardness.

    Notes
    -----
    Width and diameter come from the mark.

    References
    ----------
    .. [1] Catalogue of this project.
    """
    row = catalogue().compounds.get((stock.use, stock.hardness))
    if row is None:
        raise ValueError(f"no compound {stock.use} {stock.hardness} in the catalogue")
    compound = compound_from(row, model.overrides)
    family = catalogue().families[stock.use]
    usual = LOOSE_SIZE_M if stock.use in {"gravel", "winter"} else ASPHALT_SIZE_M
    width, diameter = known_size_m(stock.size, model.size) or usual
    return TyreSpec(
        compound=compound,
        width_m=width,
        diameter_m=diameter,
        land_ratio=model.overrides.get("land_ratio", family["land_ratio"]),
        tread_new_mm=stock.tread_new_mm,
        edge_brake=model.edge_brake,
        edge_drive=model.edge_drive,
        edge_side=model.edge_side,
        shoulder_rounded=model.shoulder == "rounded",
        directional=model.directional or stock.direction in {"left", "right", "arrow"},
        casing=model.casing,
        bead_min_kpa=model.bead_min_kpa,
        mass_kg=model.mass_kg,
        edge_length_mm=model.overrides.get("edge_length_mm", family["edge_length_mm"]),
        studded=bool(stock.studs) or stock.compound == "studded",
    )
