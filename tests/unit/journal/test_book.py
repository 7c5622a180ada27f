"""The day book: adding, reading, guarding, copying."""

import os
import sqlite3
import stat
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.book import Book, backup_copy, default_book_path, verify
from crewdesk.journal.entries import ControlTime, Note, Reading, StageRun

EVENT = "7b0c4f1e-0d54-4f0e-9d5a-0f5f3f1c2a11"


def test_entries_come_back_as_they_were_written(book: Book):
    at = datetime(2026, 5, 16, 9, 57, tzinfo=UTC)
    reading = Reading(tyre_id="S01", tread_in_mm=7.9, tread_mid_mm=7.8, tread_out_mm=7.7, at=at)
    stored = book.append(reading, at_utc=at, clock_offset_s=-12.5)
    assert book.entries() == (stored,)
    assert stored.body == reading
    assert (stored.seq, stored.desk, stored.desk_seq, stored.after) == (1, "desk A", 1, ())
    assert (stored.kind, stored.version, stored.clock_offset_s) == ("reading", 1, -12.5)


def test_each_entry_has_its_own_number_and_names_the_last_ones_seen(path: Path, book: Book):
    first, second = book.append_many([Note(text="a"), Note(text="b")])
    assert first.id != second.id
    assert second.after == (first.id,)
    book.close()
    with Book.open(path, desk="desk B") as other:
        third = other.append(Note(text="c"))
        fourth = other.append(Note(text="d"))
    assert third.after == (second.id,)
    assert (third.desk_seq, fourth.desk_seq) == (1, 2)
    assert fourth.after == (second.id, third.id)


def test_the_book_is_written_through_to_the_disk(book: Book):
    # SQLite, PRAGMA synchronous: with WAL and NORMAL (1) a power cut can lose the last
    # commits; FULL is 2.
    assert book._connection.execute("PRAGMA synchronous").fetchone() == (2,)
    assert book._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_an_entry_is_seen_by_another_process_as_soon_as_it_is_acknowledged(path, book):
    book.append(Note(text="seen"))
    script = (
        "import sqlite3, sys\n"
        "print(*sqlite3.connect(sys.argv[1]).execute('SELECT body FROM entry'))\n"
    )
    seen = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=True
    )
    assert '"text":"seen"' in seen.stdout


def test_the_file_itself_refuses_edits_and_deletions(path: Path, book: Book):
    book.append(Note(text="a"))
    book.close()
    connection = sqlite3.connect(path)
    for change in (
        "UPDATE entry SET body = '{}'",
        "UPDATE entry SET clock_offset_s = 1",
        "DELETE FROM entry",
        "UPDATE seal SET sha256 = ''",
        "DELETE FROM seal",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            connection.execute(change)
    connection.close()


def test_the_table_refuses_text_that_is_not_json_and_wrong_types(path: Path, book: Book):
    book.close()
    connection = sqlite3.connect(path)
    row = (1, "id", "desk", 1, "[]", "2026-05-16T08:00:00Z", 0.0, "note", 1, "{}")
    insert = "INSERT INTO entry VALUES (?,?,?,?,?,?,?,?,?,?)"
    for place, wrong in ((9, "{not json"), (4, "nor this"), (0, "seq"), (6, "fast")):
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute(insert, (*row[:place], wrong, *row[place + 1 :]))
    connection.close()


def test_several_entries_are_all_written_or_none(book: Book, monkeypatch: pytest.MonkeyPatch):
    calls = []

    def fail_on_second(row):
        calls.append(row)
        if len(calls) == 2:
            raise sqlite3.OperationalError("disk I/O error")
        return "0" * 64

    monkeypatch.setattr(layout, "seal_of", fail_on_second)
    with pytest.raises(JournalError, match="could not be written"):
        book.append_many([Note(text="a"), Note(text="b")])
    assert book.last_seq() == 0


def test_times_without_offset_are_refused(book: Book):
    naive = datetime(2026, 5, 16, 8, 0)  # noqa: DTZ001
    with pytest.raises(ValueError, match="aware"):
        book.append(Note(text="a"), at_utc=naive)
    with pytest.raises(ValueError, match="aware"):
        book.append(Note(text="a", at=naive))
    with pytest.raises(ValueError, match="aware"):
        book.append(ControlTime(ref="TC1", time=naive))
    assert book.last_seq() == 0


def test_only_what_is_new_is_read_when_following(book: Book):
    book.append_many([Note(text="a"), Note(text="b")])
    newer = book.append(StageRun(stage="SS1"))
    assert book.entries(after_seq=2) == (newer,)
    assert book.entries(after_seq=3) == ()


def test_a_book_is_never_made_over_another_file(path: Path):
    path.write_text("the crew's own notes")
    with pytest.raises(JournalError, match="already"):
        Book.create(path, event_id=EVENT, desk="desk A")
    assert path.read_text() == "the crew's own notes"


def test_open_or_create_finds_the_book_of_the_event_and_refuses_another(path: Path):
    with Book.open_or_create(path, event_id=EVENT, desk="desk A") as made:
        made.append(Note(text="a"))
    with Book.open_or_create(path, event_id=EVENT, desk="desk A") as found:
        assert found.last_seq() == 1
    with pytest.raises(JournalError, match="another event"):
        Book.open_or_create(path, event_id="other", desk="desk A")
    # It let go of the book again.
    with Book.open(path, desk="desk A") as again:
        assert again.event_id == EVENT


def test_the_usual_place_of_a_book_follows_from_the_event():
    assert default_book_path(EVENT, Path("data")) == Path("data") / "books" / f"{EVENT}.daybook"


def test_newer_layout_is_refused_and_left_alone(path: Path, book: Book):
    book.append(Note(text="a"))
    book.close()
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = DELETE")
    connection.execute(f"PRAGMA user_version = {layout.FORMAT + 1}")
    connection.close()
    before = path.read_bytes()
    for read_only in (False, True):
        with pytest.raises(JournalError, match="newer crewdesk") as caught:
            Book.open(path, desk="desk A", read_only=read_only)
        assert "Nothing was changed" in caught.value.hint
    assert path.read_bytes() == before
    assert sorted(p.name for p in path.parent.iterdir()) == [path.name]


def test_a_foreign_database_is_refused_and_left_alone(path: Path):
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE t (x)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(JournalError, match="not a day book"):
        Book.open(path, desk="desk A")
    assert path.read_bytes() == before


def test_a_missing_book_is_told_in_plain_words(tmp_path: Path):
    with pytest.raises(JournalError, match="There is no day book at"):
        Book.open(tmp_path / "none.daybook", desk="desk A")


def test_an_entry_of_a_newer_program_is_refused_when_read(path: Path, book: Book):
    book.append(Note(text="a"))
    book.close()
    for seq, (kind, version) in enumerate((("tyre_pressure_log", 1), ("note", 2)), start=2):
        connection = sqlite3.connect(path)
        row = (
            seq,
            f"id{seq}",
            "d",
            seq,
            "[]",
            "2026-05-16T08:00:00Z",
            0.0,
            kind,
            version,
            "{}",
        )
        connection.execute("INSERT INTO entry VALUES (?,?,?,?,?,?,?,?,?,?)", row)
        connection.execute("INSERT INTO seal VALUES (?, ?)", (seq, layout.seal_of(row)))
        connection.commit()
        connection.close()
        with (
            Book.open(path, desk="desk A") as opened,
            pytest.raises(JournalError, match="a newer one wrote it"),
        ):
            opened.entries(after_seq=seq - 1)
    assert any("not known here" in fault for fault in verify(path).faults)


def test_a_full_disk_is_told_and_nothing_is_half_written(book: Book):
    book.append(Note(text="kept"))
    (pages,) = book._connection.execute("PRAGMA page_count").fetchone()
    book._connection.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(JournalError, match="disk is full") as caught:
        book.append(Note(text="x" * 100_000))
    assert "Every entry that was acknowledged before is kept" in caught.value.hint
    assert [entry.body.text for entry in book.entries()] == ["kept"]
    book._connection.execute("PRAGMA max_page_count = 100000")
    book.append(Note(text="after"))
    assert book.last_seq() == 2


def test_a_file_that_cannot_be_written_is_told(book: Book):
    book._connection.execute("PRAGMA query_only = ON")
    with pytest.raises(JournalError, match="cannot be written"):
        book.append(Note(text="a"))


def test_a_book_held_by_another_program_is_told(path: Path, book: Book):
    book._connection.execute("PRAGMA busy_timeout = 10")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(JournalError, match="Another program holds"):
        book.append(Note(text="a"))
    other.execute("ROLLBACK")
    other.close()
    assert book.append(Note(text="a")).seq == 1


if os.name == "posix":

    def test_a_folder_that_cannot_be_written_is_told():
        # Root may write everywhere: as root the child gives that up first.
        script = (
            "import os, sys\n"
            "from pathlib import Path\n"
            "from crewdesk.errors import JournalError\n"
            "from crewdesk.journal.book import Book\n"
            "if os.geteuid() == 0:\n"
            "    os.setgid(65534); os.setuid(65534)\n"
            "folder = Path(sys.argv[1])\n"
            "for act in (\n"
            "    lambda: Book.create(folder / 'new.daybook', event_id='e', desk='d'),\n"
            "    lambda: Book.open(folder / 'old.daybook', desk='d'),\n"
            "):\n"
            "    try:\n"
            "        act()\n"
            "    except JournalError as error:\n"
            "        print(error.message)\n"
            "with Book.open(folder / 'old.daybook', desk='d', read_only=True) as book:\n"
            "    print(len(book.entries()))\n"
        )
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            with Book.create(folder / "old.daybook", event_id=EVENT, desk="desk A") as book:
                book.append(Note(text="a"))
            folder.chmod(stat.S_IRUSR | stat.S_IXUSR | stat.S_IROTH | stat.S_IXOTH)
            try:
                done = subprocess.run(
                    [sys.executable, "-c", script, name],
                    capture_output=True,
                    text=True,
                    check=False,
                    cwd=Path(__file__).parents[3],
                )
            finally:
                folder.chmod(stat.S_IRWXU)
        assert done.stderr == ""
        create, write, read = done.stdout.splitlines()
        assert "could not be created" in create
        assert "could not be written" in write
        assert read == "1"


def test_a_saved_copy_holds_everything_and_can_be_gone_on_with(
    path: Path, book: Book, tmp_path
):
    book.append_many([Note(text=str(n)) for n in range(5)])
    copy = tmp_path / "stick" / "copy.daybook"
    backup_copy(path, copy)
    book.append(Note(text="later"))
    assert verify(copy).ok
    assert sorted(p.name for p in copy.parent.iterdir()) == ["copy.daybook"]
    with Book.open(copy, desk="desk B") as opened:
        assert opened.entries() == book.entries()[:5]
        assert opened.append(Note(text="b")).after == (book.entries()[4].id,)


def test_a_copy_replaces_nothing_unless_told_to(path: Path, book: Book, tmp_path: Path):
    book.append(Note(text="a"))
    other = tmp_path / "other.daybook"
    other.write_text("something")
    with pytest.raises(JournalError, match="already"):
        backup_copy(path, other)
    with pytest.raises(JournalError, match="already"):
        backup_copy(path, path, overwrite=True)
    assert other.read_text() == "something"
    backup_copy(path, other, overwrite=True)
    assert verify(other).entries == 1
    assert book.last_seq() == 1


def test_every_acknowledged_entry_survives_the_death_of_its_process(path: Path):
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from crewdesk.journal.book import Book\n"
        "from crewdesk.journal.entries import Note\n"
        "book = Book.create(Path(sys.argv[1]), event_id='e', desk='doomed')\n"
        "n = 0\n"
        "while True:\n"
        "    n += 1\n"
        "    print(book.append(Note(text=str(n))).id, flush=True)\n"
    )
    root = Path(__file__).parents[3]
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)], stdout=subprocess.PIPE, text=True, cwd=root
    ) as child:
        assert child.stdout is not None
        acknowledged = [child.stdout.readline().strip() for _ in range(40)]
        child.kill()
        acknowledged += [line.strip() for line in child.stdout if line.endswith("\n")]
    assert verify(path).ok
    with Book.open(path, desk="desk B") as book:
        ids = [entry.id for entry in book.entries()]
        assert ids[: len(acknowledged)] == acknowledged
        assert len(ids) - len(acknowledged) in {0, 1}
        assert book.append(Note(text="on")).seq == len(ids) + 1
    # What the dead process left beside the book is swept up.
    assert [p for p in path.parent.iterdir() if "writer" in p.name] == []
