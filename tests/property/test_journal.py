"""Books put together: any order, the same result; and lines that come back as they went."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crewdesk.errors import CrewdeskError, JournalError
from crewdesk.journal.book import Book, export_jsonl, merge, open_sound_part, read_jsonl, verify
from crewdesk.journal.entries import Note, StoredEntry
from crewdesk.journal.lines import parse_line

START = datetime(2026, 5, 16, 8, 0, tzinfo=UTC)
DESKS = ("desk A", "desk B", "zone crew")


@st.composite
def histories(draw: st.DrawFn) -> tuple[tuple[StoredEntry, ...], ...]:
    """Books of three desks that now and then look into each other's, clocks all wrong."""
    books: dict[str, list[StoredEntry]] = {desk: [] for desk in DESKS}
    for number in range(draw(st.integers(0, 14))):
        desk = draw(st.sampled_from(DESKS))
        if draw(st.booleans()):
            other = draw(st.sampled_from(DESKS))
            books[desk] = list(merge(books[desk], books[other]))
        last: dict[str, StoredEntry] = {}
        for entry in books[desk]:
            last[entry.desk] = entry
        body = Note(text=str(number))
        books[desk].append(
            StoredEntry(
                seq=len(books[desk]) + 1,
                id=draw(st.text("0123456789abcdef", min_size=8, max_size=8)) + f"-{number}",
                desk=desk,
                desk_seq=sum(entry.desk == desk for entry in books[desk]) + 1,
                after=tuple(last[name].id for name in sorted(last)),
                at_utc=START + timedelta(minutes=draw(st.integers(-3, 3))),
                clock_offset_s=0.0,
                kind="note",
                version=1,
                body=body,
            )
        )
    return tuple(tuple(book) for book in books.values())


@given(histories())
def test_merging_does_not_depend_on_who_merges_with_whom(books):
    a, b, c = books
    assert merge(a, b) == merge(b, a)
    assert merge(merge(a, b), c) == merge(a, merge(b, c)) == merge(merge(c, a), b)


@given(histories())
def test_merging_again_changes_nothing(books):
    a, b, _ = books
    both = merge(a, b)
    assert merge(both, both) == both
    assert merge(both, a) == both == merge(b, both)
    assert merge(both, ()) == both


@given(histories())
def test_a_merged_book_holds_each_entry_once_and_behind_what_its_desk_had_seen(books):
    a, b, c = books
    merged = merge(merge(a, b), c)
    assert {entry.id for entry in merged} == {entry.id for book in books for entry in book}
    assert [entry.seq for entry in merged] == list(range(1, len(merged) + 1))
    place = {entry.id: entry.seq for entry in merged}
    for entry in merged:
        assert all(place[seen] < entry.seq for seen in entry.after)
    for desk in DESKS:
        own = [entry.desk_seq for entry in merged if entry.desk == desk]
        assert own == sorted(own)


@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_matter(books, random):
    rows = [entry for book in books for entry in book]
    shuffled = rows.copy()
    random.shuffle(shuffled)
    assert merge(shuffled, ()) == merge(rows, ())


def _entry(new_id: str, text: str, after: tuple[str, ...] = (), desk: str = "d") -> StoredEntry:
    return StoredEntry(
        seq=1,
        id=new_id,
        desk=desk,
        desk_seq=1,
        after=after,
        at_utc=START,
        clock_offset_s=0.0,
        kind="note",
        version=1,
        body=Note(text=text),
    )


def test_different_words_under_one_number_are_shown_not_guessed():
    with pytest.raises(JournalError, match="different entries"):
        merge([_entry("1", "a")], [_entry("1", "b")])


def test_entries_that_follow_each_other_in_a_circle_are_refused():
    with pytest.raises(JournalError, match="in a circle"):
        merge([_entry("1", "a", ("2",), "d")], [_entry("2", "b", ("1",), "e")])


@given(histories())
def test_exported_lines_come_back_as_they_went(books):
    for book in books:
        assert read_jsonl(export_jsonl(book)) == book


@given(st.text(max_size=80))
def test_any_line_is_an_entry_or_is_refused_in_words(line: str):
    try:
        kind = parse_line(line).kind
    except CrewdeskError as error:
        kind = error.message and error.hint
    assert kind


@settings(max_examples=10, deadline=None)
@given(st.lists(st.text(max_size=30), min_size=1, max_size=12), st.integers(0, 11))
def test_a_book_reads_back_what_was_written_in_two_sittings(texts: list[str], cut: int):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "event.daybook"
        with Book.create(path, event_id="e", desk="d") as book:
            stored = book.append_many([Note(text=text) for text in texts[:cut]])
        with Book.open(path, desk="d") as book:
            stored += book.append_many([Note(text=text) for text in texts[cut:]])
            assert book.entries() == stored
            assert [entry.body.text for entry in stored] == texts


@pytest.fixture(scope="module")
def sound_book(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    path = tmp_path_factory.mktemp("book") / "event.daybook"
    with Book.create(path, event_id="e", desk="d") as book:
        book.append_many([Note(text=f"{n} " + "x" * 150) for n in range(120)])
    return path, path.read_bytes()


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 1), st.binary(min_size=1, max_size=200)), max_size=4),
    st.floats(0.05, 1),
)
def test_no_damage_makes_a_book_say_what_was_never_written(sound_book, hits, kept):
    path, whole = sound_book
    content = bytearray(whole)
    for share, junk in hits:
        at = 100 + int(share * (len(content) - 101))
        content[at : at + len(junk)] = junk[: len(content) - at]
    content = content[: max(200, int(len(content) * kept))]
    path.write_bytes(content)
    try:
        with Book.open(path, desk="d", read_only=True) as book:
            told = [entry.body.text for entry in book.entries()]
    except JournalError:
        told = [entry.body.text for entry in open_sound_part(path).entries]
    numbers = [int(text.split(" ")[0]) for text in told]
    assert all(text == f"{n} " + "x" * 150 for n, text in zip(numbers, told, strict=True))
    assert numbers == sorted(set(numbers))
    report = verify(path)
    assert len(told) == 120 or not report.ok
    assert path.read_bytes() == content
