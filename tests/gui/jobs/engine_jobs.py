"""Work for the engine's process in tests: obedient, deaf, dying, failing, and the real one."""

import os
import signal
import time
from dataclasses import replace
from pathlib import Path

from crewdesk.errors import EngineError


def work(what, _state, _options, number, _now, stop, tell):
    """Do what the first argument names."""
    if what == "echo":
        tell("half way")
        return f"answer {number}"
    if what == "patient":
        end = time.monotonic() + 30
        while time.monotonic() < end:
            if stop():
                return None
            time.sleep(0.002)
    if what == "deaf":
        tell("begun")
        time.sleep(30)
    if what == "dies":
        os._exit(3)
    if what.startswith("dies once "):
        mark = Path(what.removeprefix("dies once "))
        if mark.exists():
            return f"answer {number}"
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    if what == "refuses":
        raise EngineError("No stage is left.", hint="Write the handover.")
    if what == "breaks":
        raise RuntimeError("a fault of ours")
    return None


def quick(bundle, state, options, number, now, stop, tell):
    """Ask the real engine, of one day of weather only, and take the first call it finds."""
    from crewdesk.desk.ask import answer

    found = []

    def enough():
        return bool(found) or stop()

    def kept(better):
        found.append(better)
        tell(better)

    options = replace(options, scenarios=1)
    return answer(bundle, state, options, number, now, enough, kept, with_flips=False)
