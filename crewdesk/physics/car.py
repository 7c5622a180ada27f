"""The car, as far as it works its tyres."""

from dataclasses import dataclass


@dataclass(frozen=True)
class CarParams:
    """A car with its crew on board.

    Parameters
    ----------
    mass_kg : float
        Mass with crew. [kg]
    front_share : float
        Share of the weight on the front axle.
    wheelbase_m, cg_height_m, track_m : float
        Wheelbase, height of the centre of gravity, mean track. [m]
    brake_front_share, drive_front_share : float
        Share of the braking and of the driving force at the front axle.
    power_kw : float
        Engine power. [kW]

    Raises
    ------
    ValueError
        If a mass, length or power is not positive or a share lies outside 0 to 1.
    """

    mass_kg: float
    front_share: float
    wheelbase_m: float
    cg_height_m: float
    track_m: float
    brake_front_share: float
    drive_front_share: float
    power_kw: float

    def __post_init__(self) -> None:
        lengths = (self.wheelbase_m, self.cg_height_m, self.track_m)
        if min(self.mass_kg, self.power_kw, *lengths) <= 0.0:
            raise ValueError("mass, power and lengths of a car must be positive")
        shares = (self.front_share, self.brake_front_share, self.drive_front_share)
        if min(shares) < 0.0 or max(shares) > 1.0:
            raise ValueError("shares of a car must lie between 0 and 1")
