"""What stood in a typed table before, so that a slip can be taken back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

KEPT: Final = 60
"""Changes that can be taken back."""


@dataclass(frozen=True)
class Standing:
    """What stands in a table, and what it was read from."""

    rows: tuple[Mapping[str, str], ...] = ()
    comments: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()
    handover: str = ""
    read_as: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @classmethod
    def of(cls, rows: Sequence[Mapping[str, str]], **others: object) -> "Standing":
        """Return what stands there, apart from what is typed into it later."""
        return cls(tuple(dict(row) for row in rows), **others)  # type: ignore[arg-type]


class Changes:
    """The changes of a table, one behind the other."""

    def __init__(self) -> None:
        self._now = Standing()
        self._past: list[Standing] = []
        self._future: list[Standing] = []

    def took(self, now: Standing) -> None:
        """Remember how it stands after a change."""
        if now == self._now:
            return
        self._past = [*self._past, self._now][-KEPT:]
        self._future = []
        self._now = now

    def forget(self, now: Standing) -> None:
        """Begin anew."""
        self._now, self._past, self._future = now, [], []

    def back(self) -> Standing | None:
        """Return how it stood before the last change; None: nothing was changed."""
        return self._step(self._past, self._future)

    def forward(self) -> Standing | None:
        """Return what was taken back last; None: nothing was."""
        return self._step(self._future, self._past)

    def _step(self, source: list[Standing], target: list[Standing]) -> Standing | None:
        if not source:
            return None
        target.append(self._now)
        self._now = source.pop()
        return self._now
