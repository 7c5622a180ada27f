"""The process in which calls are worked out; it ends when its pipe does."""

import importlib
import os
import traceback
from collections.abc import Callable, Mapping
from multiprocessing.connection import Connection
from typing import Any, Protocol

from crewdesk.errors import CrewdeskError

ASK = "crewdesk.desk.ask:answer"
JUDGE = "crewdesk.gui.engine_worker:judge_fitting"
LOOK_OVER = "crewdesk.gui.engine_worker:look_over"
LEARN = "crewdesk.gui.engine_worker:what_was_learnt"
AHEAD = "crewdesk.gui.engine_worker:what_lies_ahead"


class Number(Protocol):
    """A number shared with the window: the newest request."""

    value: int


class _SupersededError(Exception):
    """Something newer is asked."""


def _work(name: str) -> Callable[..., Any]:
    module, function = name.split(":")
    work: Callable[..., Any] = getattr(importlib.import_module(module), function)
    return work


def serve(pipe: Connection, newest: Number, name: str) -> None:
    """Answer requests until the pipe ends; look at ``newest`` to see when to stop.

    A request is ``(number, work, arguments)`` with work empty for the usual one; an answer
    is ``(kind, number, payload)``.
    """
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    try:
        known = {"": _work(name)}
        pipe.send(("ready", 0, None))
        while True:
            number, other, arguments = pipe.recv()
            if other not in known:
                known[other] = _work(other)
            pipe.send(_one(pipe, newest, known[other], number, arguments))
    except (EOFError, OSError, KeyboardInterrupt):
        return


def _one(
    pipe: Connection,
    newest: Number,
    work: Callable[..., Any],
    number: int,
    arguments: tuple[Any, ...],
) -> tuple[str, int, Any]:
    def old() -> bool:
        # What a page wants to know carries a number below zero and goes on beside any call.
        return newest.value != number if number >= 0 else newest.value < 0

    def stop() -> bool:
        # Nobody waits for this any more: out of wherever the work asks, at once.
        if old():
            raise _SupersededError
        return False

    def tell(better: Any) -> None:
        if not old():
            pipe.send(("progress", number, better))

    try:
        stop()
        result = work(*arguments[:3], number, arguments[3], stop, tell)
    except _SupersededError:
        return ("stopped", number, None)
    except CrewdeskError as error:
        return ("failed", number, (error.message, error.hint))
    except Exception:
        return ("broken", number, traceback.format_exc())
    return ("stopped", number, None) if old() else ("answer", number, result)


def work_here(name: str, arguments: tuple[Any, ...], number: int) -> Any:
    """Work something out in this process, where there is no other one to ask."""
    return _work(name)(*arguments[:3], number, arguments[3], lambda: False, lambda _: None)


def look_over(bundle: Any, state: Any, *_: Any) -> Any:
    """Return every check of the set before the event."""
    from crewdesk.desk.before_event import before_event

    return before_event(bundle, state)


def what_was_learnt(
    bundle: Any, state: Any, _asked: None, _number: int, now: Any, *_: Any
) -> Any:
    """Return what the readings so far have taught."""
    from crewdesk.desk.learn import learn

    return learn(bundle, state, now)


def what_lies_ahead(
    bundle: Any,
    state: Any,
    asked: tuple[str, Mapping[Any, str | None]],
    _number: int,
    now: Any,
    *_: Any,
) -> Any:
    """Return what the stages ahead will do to the wheels of a fitting at a place."""
    from crewdesk.desk.ahead_told import tell_ahead

    return tell_ahead(bundle, state, *asked, now)


def judge_fitting(
    bundle: Any,
    state: Any,
    asked: tuple[Any, Mapping[Any, str | None]],
    _number: int,
    _now: Any,
    _stop: Callable[[], bool],
    _tell: Callable[[Any], None],
) -> Any:
    """Return what a fitting costs under the same model as the call."""
    from crewdesk.desk.judging import judge_at

    options, fitting = asked
    plan = ({"fitting": dict(fitting)},)
    judged, _ = judge_at(bundle, state, options, plan, has_book=True)
    return judged
