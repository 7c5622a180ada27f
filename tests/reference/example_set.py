"""The example numbers of the tyre model: what the worked numbers were made with.

They are not the numbers the program ships with. All are tuning values of this project or
common practice, no source.
"""

from crewdesk.physics.car import CarParams
from crewdesk.physics.numbers import ModelNumbers
from crewdesk.physics.surface import StageSurface, SurfaceParams
from crewdesk.physics.tyre import Compound, TyreSpec

NUMBERS = ModelNumbers(
    bulk_area_m2=0.25,
    hazard_front=1.0,
    hazard_rear=1.0,
    hazard_driver_slope=0.0,
    camber_wear_asphalt=0.06,
)
EDGE_LENGTH_MM = 1.6

AWD = CarParams(1390, 0.56, 2.53, 0.50, 1.60, 0.62, 0.50, 210)
FWD = CarParams(1190, 0.62, 2.50, 0.50, 1.47, 0.68, 1.00, 140)
LIGHT = CarParams(950, 0.62, 2.40, 0.50, 1.42, 0.70, 1.00, 90)
RWD = CarParams(1250, 0.53, 2.50, 0.50, 1.50, 0.62, 0.00, 170)
CARS = {"AWD": AWD, "FWD": FWD, "light FWD": LIGHT, "RWD": RWD}

_COMPOUNDS = """
gravel      soft   0.062 35  15  58 -55 6.0 1.000 0.35 0.08 1.20 9.5
gravel      medium 0.046 52  28  78 -50 6.0 0.995 0.30 0.10 1.00 9.5
gravel      hard   0.034 70  42 100 -45 6.0 0.990 0.25 0.12 0.85 9.5
asphalt     soft   0.095 40  22  70 -45 5.0 1.000 0.35 0.08 1.10 7.0
asphalt     medium 0.070 58  38  90 -40 5.0 0.995 0.30 0.10 1.00 7.0
asphalt     hard   0.050 78  52 112 -35 5.0 0.990 0.25 0.12 0.90 7.0
asphalt_wet soft   0.100 26  10  48 -55 5.0 1.000 0.40 0.08 1.10 8.0
asphalt_wet medium 0.080 38  20  62 -50 5.0 0.995 0.35 0.10 1.00 8.0
asphalt_wet hard   0.060 52  30  80 -45 5.0 0.990 0.30 0.12 0.95 8.0
winter      soft   0.080  0 -25  25 -65 6.5 1.000 0.40 0.05 1.10 9.5
winter      medium 0.064 10 -15  35 -60 6.5 0.995 0.40 0.06 1.00 9.5
winter      hard   0.050 20  -5  48 -55 6.5 0.990 0.35 0.08 0.95 9.5
"""
COMPOUNDS = {
    (family, hardness): Compound(family, hardness, *map(float, numbers))
    for family, hardness, *numbers in (row.split() for row in _COMPOUNDS.strip().splitlines())
}

_SURFACES = """
gravel_loose   0.55  6 0.45 0.9 0.35  900  0 1.0 0.10 0.12 1.0e-4
gravel_hard    0.65  7 0.65 1.0 0.35 1100  0 1.0 0.06 0.05 1.2e-4
gravel_rock    0.68  8 0.80 1.4 0.33 1600  0 1.3 0.04 0.03 2.0e-4
gravel_wet     0.50  6 0.40 0.6 0.25 1600 12 0.7 0.12 0.15 1.0e-4
asphalt_smooth 1.05 16 1.0  0.8 0.40 1400  0 0.4 0    0    0.3e-4
asphalt_abras  1.10 16 1.0  1.3 0.40 1400  0 0.5 0    0    0.4e-4
asphalt_damp   0.80 14 1.0  0.6 0.30 1600  8 0.4 0.02 0.05 0.4e-4
asphalt_wet    0.65 13 1.0  0.5 0.20 1600 25 0.4 0.02 0.10 0.4e-4
snow           0.33  5 0.25 0.2 0.20  500  5 0.5 0.10 0.10 0.3e-4
ice            0.22  5 0.30 0.3 0.15 2000  2 0.5 0.05 0.02 0.3e-4
"""
SURFACES = {
    name: SurfaceParams(
        name, *map(float, numbers), asphalt=1.0 if name.startswith("asphalt") else 0.0
    )
    for name, *numbers in (row.split() for row in _SURFACES.strip().splitlines())
}

GRAVEL_SIZE_M = (0.190, 0.650)
ASPHALT_SIZE_M = (0.210, 0.645)


def tyre(
    compound: Compound, *, edge_length_mm: float = EDGE_LENGTH_MM, asphalt: bool = False
) -> TyreSpec:
    """Return a tyre of the example size with a compound."""
    width_m, diameter_m = ASPHALT_SIZE_M if asphalt else GRAVEL_SIZE_M
    return TyreSpec(
        compound,
        width_m,
        diameter_m,
        0.80 if asphalt else 0.60,
        compound.tread_new_mm,
        edge_length_mm=edge_length_mm,
    )


def on(params: SurfaceParams, roughness: float) -> StageSurface:
    """Return a stage surface taken as it stands, without any mapping."""
    return StageSurface(params, roughness)
