"""What the crew fixes, and what is shown beside the call, keep to the exact answer."""

import csv
import io

import pytest

from crewdesk.desk.answer import CallOptions
from crewdesk.desk.ask import answer_at, build_problem
from crewdesk.desk.replay import replay
from crewdesk.documents.store import load_from_texts
from crewdesk.engine.judge import judge
from crewdesk.engine.solve import propose


def without_a_book(bundle):
    return replay(bundle, [])


def with_rows(bundle, change):
    """Return the event with the rows of its stock table changed."""
    texts = dict(bundle.source_files)
    rows = list(csv.DictReader(io.StringIO(texts["stock.csv"])))
    rows = change(rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return load_from_texts({**texts, "stock.csv": out.getvalue()})


def asked(bundle, at, **options):
    state = without_a_book(bundle)
    place = bundle.itinerary.place(at)
    return build_problem(bundle, state, CallOptions(at=at, **options), place.due_in_utc)


def test_a_tyre_fixed_that_would_end_under_the_minimum_is_an_answer(saldrey):
    def worn(rows):
        for row in rows:
            if row["tyre_id"] == "M07":
                row.update(tread_in_mm="2.0", tread_mid_mm="2.0", tread_out_mm="2.0")
        return rows

    result = propose(asked(with_rows(saldrey, worn), "A", locks={"FL": "M07"}, scenarios=4))
    assert result.plan == ()
    assert [lift.code for lift in result.lift] == ["LCK-1"]


def test_a_tyre_fixed_for_a_night_costs_nothing_where_its_like_would_not(quellhaven):
    # The loop from the flexi service to the morning has no stages.
    free = propose(asked(quellhaven, "C", scenarios=4))
    fixed = propose(asked(quellhaven, "C", scenarios=4, locks={"FL": "H02"}))
    assert fixed.plan[0].fitting["FL"] == "H02"
    assert fixed.objective.total_s == pytest.approx(free.objective.total_s, abs=0.011)


def test_no_better_plan_hides_behind_another_call(saldrey):
    problem = asked(saldrey, "A", scenarios=16)
    result = propose(problem)
    assert result.alternatives
    for other in result.alternatives:
        judged = judge(problem, [other.fitting])
        assert judged.objective.total_s >= other.objective_s - 0.011
        assert other.loss_s >= 0


def test_the_order_of_the_rows_changes_no_word(saldrey):
    turned = with_rows(saldrey, lambda rows: rows[::-1])
    calls = [
        answer_at(
            bundle,
            without_a_book(bundle),
            CallOptions(at="B", scenarios=4),
            has_book=False,
        ).call
        for bundle in (saldrey, turned)
    ]
    for call in calls:
        del call["elapsed_ms"]
    assert calls[0] == calls[1]
