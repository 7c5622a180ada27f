"""One writer at a time."""

import subprocess
import sys
from pathlib import Path

import pytest

from crewdesk.errors import JournalError
from crewdesk.journal.book import Book, BookBusy, BookTakenOver
from crewdesk.journal.entries import Note


def test_a_second_writer_is_told_who_writes_and_since_when(path: Path, book: Book):
    with pytest.raises(BookBusy, match="desk A") as caught:
        Book.open(path, desk="desk B")
    assert caught.value.writer.desk == "desk A"
    assert f"{caught.value.writer.since_utc:%H:%M}" in caught.value.message
    assert "take it over" in caught.value.hint
    assert book.append(Note(text="still mine")).seq == 1


def test_a_second_window_reads_along_and_cannot_write(path: Path, book: Book):
    with Book.open(path, desk="desk B", read_only=True) as reader:
        assert reader.read_only
        seen = reader.last_seq()
        for n in range(3):
            newer = book.append(Note(text=str(n)))
            assert reader.entries(after_seq=seen) == (newer,)
            seen = reader.last_seq()
        with pytest.raises(JournalError, match="only to be read"):
            reader.append(Note(text="no"))
    assert book.last_seq() == 3


def test_the_old_writer_notices_at_its_next_entry_that_it_was_taken_over(path, book):
    book.append(Note(text="a"))
    with Book.open(path, desk="desk B", take_over=True) as taker:
        taker.append(Note(text="b"))
        with pytest.raises(BookTakenOver, match="desk B") as caught:
            book.append(Note(text="lost"))
        assert "not written" in caught.value.message
        assert [entry.body.text for entry in taker.entries()] == ["a", "b"]
        # From then on it reads along.
        assert book.read_only
        assert len(book.entries()) == 2
        with pytest.raises(JournalError, match="only to be read"):
            book.append(Note(text="lost too"))


def test_who_took_over_keeps_the_book_when_the_old_writer_closes(path: Path, book: Book):
    with Book.open(path, desk="desk B", take_over=True) as taker:
        book.close()
        with pytest.raises(BookBusy, match="desk B"):
            Book.open(path, desk="desk C")
        assert taker.append(Note(text="b")).seq == 1


def test_the_book_can_be_taken_back(path: Path, book: Book):
    with Book.open(path, desk="desk B", take_over=True) as taker:
        taker.append(Note(text="b"))
        with Book.open(path, desk="desk A", take_over=True) as back:
            assert back.append(Note(text="a")).seq == 2
            with pytest.raises(BookTakenOver, match="desk A"):
                taker.append(Note(text="lost"))


def test_closing_frees_the_book_and_leaves_one_file(path: Path, book: Book):
    book.append(Note(text="a"))
    book.close()
    book.close()
    assert [p.name for p in path.parent.iterdir()] == [path.name]
    with Book.open(path, desk="desk B") as other:
        assert other.writer is not None
        assert other.writer.desk == "desk B"


def test_a_writer_that_was_killed_frees_the_book(path: Path):
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from crewdesk.journal.book import Book\n"
        "book = Book.create(Path(sys.argv[1]), event_id='e', desk='doomed')\n"
        "print('open', flush=True)\n"
        "sys.stdin.readline()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[3],
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "open\n"
        with pytest.raises(BookBusy, match="doomed"):
            Book.open(path, desk="desk B")
        with Book.open(path, desk="desk B", read_only=True) as reader:
            assert reader.writer is not None
            child.kill()
            child.wait()
            assert reader.writer is None
    with Book.open(path, desk="desk B") as book:
        assert book.append(Note(text="b")).seq == 1
