"""A stage from end to end: the table, the run of a tyre, the time of the car."""

from crewdesk.physics.stage_run import BRAKE, DRIVE, LATERAL, StageRun, run_stage
from crewdesk.physics.stage_table import StageTable, stage_table
from crewdesk.physics.stage_time import (
    balance,
    mode_grips,
    stage_time_s,
    stage_time_tangent,
)

__all__ = [
    "BRAKE",
    "DRIVE",
    "LATERAL",
    "StageRun",
    "StageTable",
    "balance",
    "mode_grips",
    "run_stage",
    "stage_table",
    "stage_time_s",
    "stage_time_tangent",
]
