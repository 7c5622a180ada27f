"""Rows read straight off the pages of a damaged SQLite file, where SQLite itself gives up.

Notes
-----
Only leaf pages of tables are read; every row is checked by its own check sum afterwards, so a
row that is not whole never passes for one that is.

References
----------
SQLite, Database File Format, sections 1.6 (b-tree pages), 2.1 (record format) and 4.1 (log).
"""

import struct
from collections.abc import Iterator

_LEAF = 0x0D
_LOG_HEAD = 32
_FRAME_HEAD = 24

Row = tuple[object, ...]


class _TornError(Exception):
    """The bytes are no row."""


def table_rows(content: bytes, log: bytes = b"") -> Iterator[tuple[int, Row]]:
    """Yield (rowid, values) of every row that can be made out on a page, oldest place first."""
    size = _page_size(content)
    pages = {number + 1: content[at : at + size] for number, at in _starts(content, size)}
    frames = [
        log[at + _FRAME_HEAD : at + _FRAME_HEAD + size]
        for at in range(_LOG_HEAD, len(log) - size, _FRAME_HEAD + size)
    ]
    for number, page in [*pages.items(), *((0, frame) for frame in frames)]:
        yield from _rows_of(page, 100 if number == 1 else 0, pages, size)


def _starts(content: bytes, size: int) -> Iterator[tuple[int, int]]:
    return enumerate(range(0, len(content) - size + 1, size))


def _page_size(content: bytes) -> int:
    size = int.from_bytes(content[16:18], "big")
    size = 65536 if size == 1 else size
    return size if 512 <= size <= 65536 and size & (size - 1) == 0 else 4096


def _rows_of(
    page: bytes, head: int, pages: dict[int, bytes], size: int
) -> Iterator[tuple[int, Row]]:
    if len(page) < size or page[head] != _LEAF:
        return
    count = int.from_bytes(page[head + 3 : head + 5], "big")
    for n in range(min(count, size // 4)):
        at = head + 8 + 2 * n
        pointer = int.from_bytes(page[at : at + 2], "big")
        try:
            yield _cell(page, pointer, pages, size)
        except (_TornError, IndexError, UnicodeDecodeError, OverflowError):
            continue


def _cell(page: bytes, at: int, pages: dict[int, bytes], size: int) -> tuple[int, Row]:
    length, at = _varint(page, at)
    rowid, at = _varint(page, at)
    local = _local_bytes(length, size)
    payload = page[at : at + local]
    following = int.from_bytes(page[at + local : at + local + 4], "big")
    seen: set[int] = set()
    while len(payload) < length:
        if following in seen or following not in pages:
            raise _TornError
        seen.add(following)
        payload += pages[following][4 : 4 + min(size - 4, length - len(payload))]
        following = int.from_bytes(pages[following][:4], "big")
    return rowid, _record(payload)


def _local_bytes(length: int, size: int) -> int:
    """Return how much of a record lies on its own page."""
    most, least = size - 35, (size - 12) * 32 // 255 - 23
    if length <= most:
        return length
    part = least + (length - least) % (size - 4)
    return part if part <= most else least


def _record(payload: bytes) -> Row:
    head, at = _varint(payload, 0)
    kinds = []
    while at < head:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    values: list[object] = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    return tuple(values)


def _value(payload: bytes, at: int, kind: int) -> tuple[object, int]:
    if kind == 0:
        return None, at
    if kind in {8, 9}:
        return kind - 8, at
    if kind >= 13 and kind % 2:
        end = at + (kind - 13) // 2
        return _slice(payload, at, end).decode(), end
    widths = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 7: 8}
    if kind not in widths:
        raise _TornError
    end = at + widths[kind]
    raw = _slice(payload, at, end)
    return (_real(raw) if kind == 7 else int.from_bytes(raw, "big", signed=True)), end


def _real(raw: bytes) -> float:
    number: float = struct.unpack(">d", raw)[0]
    return number


def _slice(payload: bytes, at: int, end: int) -> bytes:
    part = payload[at:end]
    if len(part) < end - at:
        raise _TornError
    return part


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for _ in range(8):
        byte = data[at]
        at += 1
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at
    return value << 8 | data[at], at + 1
