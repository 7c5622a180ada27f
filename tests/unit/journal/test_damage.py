"""Books that are not whole."""

import sqlite3
from pathlib import Path

import pytest

from crewdesk.errors import JournalError
from crewdesk.journal import layout
from crewdesk.journal.book import Book, BookDamaged, open_sound_part, verify
from crewdesk.journal.entries import Note

EVENT = "7b0c4f1e-0d54-4f0e-9d5a-0f5f3f1c2a11"


def _page_bytes(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[16:18], "big")


def test_a_whole_book_has_no_faults(filled: Path):
    report = verify(filled)
    assert report.ok
    assert (report.entries, report.last_seq) == (400, 400)
    sound = open_sound_part(filled)
    assert len(sound.entries) == 400
    assert sound.missing == ()


def test_looking_at_a_book_leaves_it_alone(filled: Path):
    before = filled.read_bytes()
    verify(filled)
    open_sound_part(filled)
    assert filled.read_bytes() == before


@pytest.mark.parametrize("kept_share", [0.25, 0.5, 0.75, 0.95])
def test_of_a_book_cut_short_the_sound_part_is_read(filled: Path, kept_share: float):
    with Book.open(filled, desk="desk A") as book:
        whole = {entry.seq: entry for entry in book.entries()}
    content = filled.read_bytes()
    filled.write_bytes(content[: int(len(content) * kept_share)])
    cut = filled.read_bytes()

    with pytest.raises(BookDamaged, match="damaged") as caught:
        Book.open(filled, desk="desk A")
    assert "left as it is" in caught.value.hint
    with pytest.raises(BookDamaged):
        Book.open(filled, desk="desk A", read_only=True)
    assert not verify(filled).ok

    sound = open_sound_part(filled)
    assert 0 < len(sound.entries) < 400
    assert all(whole[entry.seq] == entry for entry in sound.entries)
    # The first entries lie on the first pages, so they are there.
    assert sound.entries[0].seq == 1
    assert sound.missing
    assert filled.read_bytes() == cut


def test_a_page_with_flipped_bits_costs_only_its_own_entries(filled: Path):
    with Book.open(filled, desk="desk A") as book:
        whole = {entry.seq: entry for entry in book.entries()}
    content = bytearray(filled.read_bytes())
    size = _page_bytes(filled)
    start = content.find(b"entry 10/")
    page = start // size * size
    content[page : page + 64] = bytes(byte ^ 0xFF for byte in content[page : page + 64])
    filled.write_bytes(content)

    with pytest.raises(BookDamaged):
        Book.open(filled, desk="desk A")
    sound = open_sound_part(filled)
    assert 300 < len(sound.entries) < 400
    assert all(whole[entry.seq] == entry for entry in sound.entries)
    assert sound.entries[-1].seq == 400
    assert any("cannot be read" in words for words in sound.missing)
    assert filled.read_bytes() == content


def test_one_changed_letter_is_found_by_its_check_sum(filled: Path):
    content = bytearray(filled.read_bytes())
    start = content.find(b"entry 10/5 ")
    content[start + 6] ^= 0x01
    filled.write_bytes(content)
    # The pages still hold together, so only the check sum can tell.
    with (
        Book.open(filled, desk="desk A") as book,
        pytest.raises(BookDamaged, match="entry 206"),
    ):
        book.entries()
    assert verify(filled).faults == ("Entry 206: it is not as it was written.",)
    sound = open_sound_part(filled)
    assert len(sound.entries) == 399
    assert sound.missing == ("Entry 206 is left out: it is not as it was written.",)


@pytest.mark.parametrize("first_bytes", [16, 100, 4096])
def test_a_book_whose_first_page_is_gone_is_read_page_by_page(filled: Path, first_bytes: int):
    content = bytearray(filled.read_bytes())
    content[:first_bytes] = bytes(first_bytes)
    filled.write_bytes(content)
    sound = open_sound_part(filled)
    assert [entry.seq for entry in sound.entries] == list(range(1, 401))
    assert sound.event_id == EVENT
    assert "does not begin" in sound.missing[0]
    assert filled.read_bytes() == content


def test_a_long_entry_is_found_page_by_page(path: Path):
    with Book.create(path, event_id=EVENT, desk="desk A") as book:
        long = book.append(Note(text="z" * 50_000 + "é"), clock_offset_s=-1.5)
    content = bytearray(path.read_bytes())
    content[:100] = bytes(100)
    path.write_bytes(content)
    assert open_sound_part(path).entries == (long,)


@pytest.mark.parametrize("content", [b"", b"SQLite form", b"x" * 5000])
def test_a_file_without_its_head_is_told_and_left_alone(tmp_path: Path, content: bytes):
    path = tmp_path / "event.daybook"
    path.write_bytes(content)
    with pytest.raises(BookDamaged, match="does not begin"):
        Book.open(path, desk="desk A")
    assert verify(path).entries == 0
    assert not verify(path).ok
    assert open_sound_part(path).entries == ()
    assert open_sound_part(path).missing
    assert path.read_bytes() == content


def test_holes_doubles_and_missing_guards_are_found(filled: Path):
    connection = sqlite3.connect(filled)
    connection.execute(f"DROP TRIGGER {layout.TRIGGERS[1]}")
    connection.execute("DELETE FROM entry WHERE seq IN (7, 8)")
    connection.execute(
        "INSERT INTO entry SELECT 402, 'twin', desk, desk_seq, after, at_utc, clock_offset_s,"
        " kind, version, body FROM entry WHERE seq = 9"
    )
    connection.commit()
    connection.close()
    faults = "\n".join(verify(filled).faults)
    assert "guard against edits is missing (entry_stays)" in faults
    assert "Entries 7 to 8 are missing" in faults
    assert "Entries 401 to 401 are missing" in faults
    assert "Entry 402: its check sum is missing" in faults
    assert "The count of its desk ('desk A', 9) stands 2 times" in faults
    assert "Entry 9 follows entries that are not in the book" in faults
    sound = open_sound_part(filled)
    assert len(sound.entries) == 398
    assert "Entries 7 to 8 cannot be read." in sound.missing


def test_a_damaged_book_beside_an_unfinished_log_is_not_written(path: Path, book: Book):
    """A log left by a killed process would else be played into the damaged file."""
    book.append_many([Note(text="y" * 500) for _ in range(50)])
    wal = path.with_name(path.name + "-wal")
    head = path.read_bytes()
    log = wal.read_bytes()
    assert log
    copy = path.with_name("copy.daybook")
    copy.write_bytes(b"\xff" * len(head))
    copy.with_name("copy.daybook-wal").write_bytes(log)
    with pytest.raises(JournalError):
        Book.open(copy, desk="desk A")
    assert copy.read_bytes() == b"\xff" * len(head)


def test_a_book_whose_writer_was_killed_is_read_with_its_log(path: Path, book: Book):
    book.append_many([Note(text=str(n)) for n in range(10)])
    copy = path.with_name("copy.daybook")
    copy.write_bytes(path.read_bytes())
    copy.with_name("copy.daybook-wal").write_bytes(
        path.with_name(path.name + "-wal").read_bytes()
    )
    assert len(open_sound_part(copy).entries) == 10
