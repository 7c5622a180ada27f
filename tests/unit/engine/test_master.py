"""The linear program where its solver is at a loss."""

import highspy
import pytest

from crewdesk.engine.master import Master, StoppedError

STATUS = highspy.HighsModelStatus


class _Model:
    """Answers with one status after the other; says when it began from scratch."""

    def __init__(self, *found):
        self._found = list(found)
        self.cleared = 0
        self._now = None

    def run(self):
        self._now = self._found.pop(0)

    def getModelStatus(self):  # noqa: N802 - name of the library
        return self._now

    def clearSolver(self):  # noqa: N802 - name of the library
        self.cleared += 1


def _master(*found):
    master = object.__new__(Master)
    master._model = _Model(*found)
    return master


@pytest.mark.parametrize(("found", "is_solved"), [("kOptimal", True), ("kInfeasible", False)])
def test_what_is_clear_is_taken_at_once(found, is_solved):
    master = _master(getattr(STATUS, found))
    assert master._solved() is is_solved
    assert master._model.cleared == 0


def test_what_is_not_clear_is_solved_from_scratch():
    master = _master(STATUS.kUnknown, STATUS.kOptimal)
    assert master._solved()
    assert master._model.cleared == 1


def test_what_stays_unclear_is_never_taken_for_no_plan():
    master = _master(STATUS.kUnknown, STATUS.kUnknown)
    with pytest.raises(StoppedError):
        master._solved()
