"""What stands beside the call, as the crew reads it."""

from crewdesk.desk.words import flip_words, reasons_words
from crewdesk.desk.words_beside import beside_words
from crewdesk.engine.result import (
    Alternative,
    Flip,
    Objective,
    PlanResult,
    ReadingWorth,
    Reason,
)


def _result(**more):
    return PlanResult((), Objective(100.0, 5.0, 10.0, 0.0, 1.0), 116.0, complete=True, **more)


def test_each_kind_of_flip_has_its_sentence():
    then = {"FL": "soft", "FR": "soft", "RL": "medium", "RR": "medium", "SP1": "hard"}
    told = [
        flip_words(Flip("road", "°C", 20.0, 17.0, then)),
        flip_words(Flip("rain", "%", 20.0, 35.0, then)),
        flip_words(Flip("new_tyre_worth", "s", 5.0, 8.5, then)),
        flip_words(Flip("tread", "mm", 5.2, 4.1, then, "M07")),
    ]
    assert told == [
        "With the road at 17.0 °C or colder: soft/medium",
        "With rain 35 in 100 likely or more: soft/medium",
        "With a new tyre worth 8.5 s or more: soft/medium",
        "With 4.1 mm or less left on M07: soft/medium",
    ]


def test_the_reading_worth_most_is_one_sentence():
    for what, tyre, words in (
        ("road", "", "Read the road temperature first: worth 1.2 s on average."),
        ("surface", "", "Find out first whether the road is wet: worth 1.2 s on average."),
        ("tread", "M07", "Measure the tread of M07 first: worth 1.2 s on average."),
    ):
        assert beside_words(_result(reading=ReadingWorth(what, 1.23, tyre))) == [words]


def test_a_limit_is_told_beside_and_not_among_the_reasons():
    reasons = (
        Reason("money", 3.0),
        Reason("rule", 0.0, {"code": "QTY-2", "compound": "medium", "worth_s": 4.04}),
        Reason("rule", 0.0, {"code": "QTY-1", "compound": "", "worth_s": 0.5}),
    )
    assert beside_words(_result(reasons=reasons)) == [
        "One more medium under its limit would be worth 4.0 s.",
        "One more tyre under the limit would be worth 0.5 s.",
    ]
    assert reasons_words(reasons) == ["Cheaper in tyres: 3.0 s for it"]


def test_answering_later_is_told_where_it_is_worth_something():
    assert beside_words(_result(recourse_objective_s=115.8)) == []
    told = beside_words(_result(recourse_objective_s=113.5))
    assert told == ["Looking again at the next change is worth 2.5 s on average."]
    fixed = Alternative({}, {}, 115.5, 0.0, ())
    both = beside_words(_result(recourse_objective_s=113.5, held_fixed=fixed))
    assert "0.5 s better" in both[0]


def test_nothing_worked_out_nothing_said():
    assert beside_words(_result()) == []
