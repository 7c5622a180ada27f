from crewdesk.desk.resolve import resolve, undo_stacks


def note(text):
    return {"kind": "note", "text": text}


def undo(target):
    return {"kind": "undo", "target_id": target}


def standing(entries):
    return [e.id for e in resolve(entries).entries]


def test_an_undone_entry_does_not_stand(entries_of):
    entries = entries_of([note("a"), note("b"), undo("id2")])
    assert standing(entries) == ["id1"]
    assert (resolve(entries).undoable, resolve(entries).redoable) == ("id1", "id3")


def test_an_undone_undo_brings_the_entry_back(entries_of):
    entries = entries_of([note("a"), undo("id1"), undo("id2")])
    assert standing(entries) == ["id1"]
    assert (resolve(entries).undoable, resolve(entries).redoable) == ("id1", None)


def test_redo_walks_back_through_several_undos(entries_of):
    entries = entries_of([note("a"), note("b"), undo("id2"), undo("id1"), undo("id4")])
    assert standing(entries) == ["id1"]
    assert undo_stacks(entries) == (["id1"], ["id3"])


def test_a_new_entry_ends_redo(entries_of):
    entries = entries_of([note("a"), undo("id1"), note("b")])
    assert undo_stacks(entries) == (["id3"], [])


def test_a_correction_is_laid_over_its_fields(entries_of):
    entries = entries_of(
        [
            {"kind": "reading", "tyre_id": "H01", "tread_mid_mm": 7.5},
            {"kind": "correction", "target_id": "id1", "values": {"tread_mid_mm": 5.7}},
        ]
    )
    assert resolve(entries).entries[0].body.tread_mid_mm == 5.7


def test_a_correction_of_one_place_leaves_the_others(entries_of):
    entries = entries_of(
        [
            {"kind": "as_found", "place": "B", "fitting": {"FL": "H01", "FR": "H02"}},
            {"kind": "correction", "target_id": "id1", "values": {"fitting": {"FR": "H03"}}},
        ]
    )
    assert resolve(entries).entries[0].body.fitting == {"FL": "H01", "FR": "H03"}


def test_an_undone_correction_no_longer_counts(entries_of):
    entries = entries_of(
        [
            note("a"),
            {"kind": "correction", "target_id": "id1", "values": {"text": "b"}},
            undo("id2"),
        ]
    )
    assert resolve(entries).entries[0].body.text == "a"


def test_a_correction_that_cannot_be_is_left_out(entries_of):
    entries = entries_of(
        [
            {"kind": "reading", "tyre_id": "H01", "tread_mid_mm": 7.5},
            {"kind": "correction", "target_id": "id1", "values": {"tread_mid_mm": -3}},
        ]
    )
    assert resolve(entries).entries[0].body.tread_mid_mm == 7.5
