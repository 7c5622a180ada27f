"""The engine's process: late answers dropped, stopped by asking, replaced when deaf."""

from pathlib import Path

import pytest

from crewdesk.gui.engine_client import EngineClient


@pytest.fixture
def client(qtbot, monkeypatch):
    monkeypatch.syspath_prepend(str(Path(__file__).parent / "jobs"))
    made = EngineClient("engine_jobs:work")
    made.start()
    yield made
    made.close()


def ask(client, what):
    return client.request(what, None, None, None)


def test_an_answer_carries_the_number_of_its_request(qtbot, client):
    seen = []
    client.progressed.connect(lambda _n, what: seen.append(what))
    with qtbot.waitSignal(client.answered, timeout=20000) as got:
        number = ask(client, "echo")
    assert got.args == [number, f"answer {number}"]
    assert seen == ["half way"]


def test_a_cancelled_request_answers_stopped(qtbot, client):
    ask(client, "patient")
    qtbot.waitUntil(lambda: client.busy, timeout=20000)
    with qtbot.waitSignal(client.stopped, timeout=20000):
        client.cancel()
    assert not client.busy


def test_a_new_request_stops_the_old_one_and_only_its_own_answer_arrives(qtbot, client):
    answers = []
    client.answered.connect(lambda n, _a: answers.append(n))
    ask(client, "patient")
    with qtbot.waitSignal(client.answered, timeout=20000):
        second = ask(client, "echo")
    assert answers == [second]


def test_what_a_page_asks_is_answered_beside_the_call_under_way(qtbot, client):
    ask(client, "patient")
    told = []
    client.aside_done.connect(lambda n, found: told.append((n, found)))
    first = client.ask_aside("echo", None, None, None, work="engine_jobs:work")
    second = client.ask_aside("echo", None, None, None, work="engine_jobs:work")
    qtbot.waitUntil(lambda: (second, f"answer {second}") in told, timeout=20000)
    # Of what was asked before it nothing is told, and the call is still worked out.
    assert first not in [number for number, _ in told]
    assert client.busy
    with qtbot.waitSignal(client.answered, timeout=20000) as got:
        number = ask(client, "echo")
    assert got.args == [number, f"answer {number}"]


def test_what_cannot_be_worked_out_beside_the_call_is_told_as_nothing(qtbot, client):
    with qtbot.waitSignal(client.aside_done, timeout=20000) as got:
        number = client.ask_aside("no such job", None, None, None, work="engine_jobs:nothing")
    assert got.args == [number, None]


def test_one_that_never_answers_is_replaced_and_the_next_answer_is_right(qtbot, client):
    with qtbot.waitSignal(client.answered, timeout=20000):
        ask(client, "echo")
    with qtbot.waitSignal(client.progressed, timeout=20000):
        ask(client, "deaf")
    replaced = []
    client.replaced.connect(lambda: replaced.append(1))
    with qtbot.waitSignal(client.answered, timeout=20000) as got:
        number = ask(client, "echo")
    assert got.args == [number, f"answer {number}"]
    assert replaced == [1]


def test_a_worker_that_dies_is_said_and_replaced(qtbot, client):
    with qtbot.waitSignal(client.failed, timeout=20000) as got:
        ask(client, "dies")
    assert "stopped by itself" in got.args[1]
    with qtbot.waitSignal(client.answered, timeout=20000):
        ask(client, "echo")


def test_a_worker_that_is_killed_at_work_hands_its_request_to_the_next(qtbot, client, tmp_path):
    mark = tmp_path / "died"
    with qtbot.waitSignal(client.answered, timeout=20000) as got:
        number = ask(client, f"dies once {mark}")
    assert mark.exists()
    assert got.args == [number, f"answer {number}"]


def test_what_the_crew_caused_comes_with_its_hint(qtbot, client):
    with qtbot.waitSignal(client.failed, timeout=20000) as got:
        number = ask(client, "refuses")
    assert got.args == [number, "No stage is left.", "Write the handover."]


def test_a_fault_of_ours_never_shows_a_traceback(qtbot, client):
    with qtbot.waitSignal(client.failed, timeout=20000) as got:
        ask(client, "breaks")
    assert "Traceback" not in got.args[1] + got.args[2]
