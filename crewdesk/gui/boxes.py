"""The logic of boxes that close themselves; no widgets, so that every key can be tested.

A gauge or scanner that types only has to send Enter or Tab after the value: a point keeps the
box open, one right after a box closed itself takes that box back, and Enter or Tab right after
a box closed itself is swallowed.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

BoxKind = Literal["tread", "pressure", "air", "road", "driver", "look", "rim", "minutes"]
EventKind = Literal[
    "typed", "closed", "taken_back", "outside", "moved", "committed", "done", "kept"
]
Word = Literal["", "same", "unknown", "damage", "skip"]

ENTER: Final = "\r"
TAB: Final = "\t"
BACK: Final = "\b"

_DIGITS: Final[dict[BoxKind, int]] = {
    "tread": 2,
    "pressure": 3,
    "air": 2,
    "road": 2,
    "driver": 1,
    "look": 1,
    "rim": 2,
    "minutes": 0,
}
_POINTED: Final = frozenset({"tread", "pressure", "air", "road", "minutes"})
_SIGNED: Final = frozenset({"air", "road", "driver"})
LIMITS: Final[dict[BoxKind, tuple[float, float]]] = {
    "tread": (0.0, 12.0),
    "pressure": (80.0, 350.0),
    "air": (-40.0, 50.0),
    "road": (-40.0, 75.0),
    "driver": (-2.0, 2.0),
    "look": (1.0, 5.0),
    "minutes": (0.0, 600.0),
}
"""Outside these a value stays in its box with a mark; working limits of this project."""


LOOK_WORDS: Final = ("lines", "grained", "even", "feathered", "torn")
"""The five looks, short: moulding lines, grained, even, feathered, torn or blistered."""


@dataclass(frozen=True)
class BoxSpec:
    """One box of a page."""

    key: str
    kind: BoxKind
    label: str
    thick: bool = True
    """Needed before OUT; the cursor visits these first."""
    last: float | None = None
    """For the word key Same."""
    hint: str = ""
    """One line under the keypad: last and expected value."""


@dataclass
class BoxNow:
    """What stands in one box."""

    text: str = ""
    value: float | str | None = None
    word: Word = ""
    outside: bool = False
    closed: bool = False
    unwritten: bool = False
    """Whether the book could not take it: it stays here until it is written."""
    doubt: str = ""
    """What is asked about a value that is in the book and unlikely, as ``expected 8.4``."""


@dataclass(frozen=True)
class BoxEvent:
    """News of a box."""

    kind: EventKind
    key: str
    value: float | str | None = None
    word: Word = ""


def shown(kind: BoxKind, box: BoxNow) -> str:
    """Return how the text of a box is shown while it is typed and once it is closed."""
    if box.word == "unknown":
        return "not known"
    if box.word == "damage":
        return "damage"
    if box.word == "skip":
        return "–"
    if box.closed and box.value is not None:
        return shown_value(kind, box.value)
    text = box.text
    if kind == "tread" and text and "." not in text:
        if text.startswith("*"):
            digits = text[1:]
            return f"1{digits[:1] or '_'}.{digits[1:2] or '_'}"
        return f"{text[0]}.{text[1:2] or '_'}"
    if kind == "pressure" and text and "." not in text:
        return f"{text[0]}.{text[1:3]:_<2}"
    return text.replace("-", "−")


def shown_value(kind: BoxKind, value: float | str) -> str:
    """Return a closed value with the decimals its kind has."""
    if isinstance(value, str):
        return value
    if kind == "tread":
        return f"{value:.1f}"
    if kind == "pressure":
        return f"{value / 100:.2f}"
    if kind == "look":
        return LOOK_WORDS[int(value) - 1]
    if kind == "driver":
        return f"{value:+.0f}".replace("-", "−") if value else "0"
    return f"{value:g}".replace("-", "−")


def value_of(kind: BoxKind, text: str) -> float | None:
    """Return the value of a typed text, pressures in kPa; None where it is no number."""
    try:
        if kind == "tread":
            if text.startswith("*"):
                rest = text[1:]
                return 10.0 + (int(rest) / 10 if len(rest) == 2 else float(rest))
            return float(text) if "." in text or len(text) < 2 else int(text) / 10
        if kind == "pressure" and "." in text:
            number = float(text)
            # Nobody runs ten bar: a figure under ten with a point is meant in bar.
            return round(number * 100, 6) if number < 10 else number
        return float(text)
    except ValueError:
        return None


@dataclass
class BoxWalk:
    """The boxes of one page and the cursor that walks them."""

    specs: Sequence[BoxSpec]
    resolve: Callable[[str], str | None] | None = None
    """Turns what was typed or scanned in a rim box into a tyre id."""
    limits: dict[BoxKind, tuple[float, float]] = field(default_factory=lambda: dict(LIMITS))

    def __post_init__(self) -> None:
        self.boxes = {spec.key: BoxNow() for spec in self.specs}
        self._by_key = {spec.key: spec for spec in self.specs}
        self._order = [s.key for s in self.specs if s.thick]
        self._order += [s.key for s in self.specs if not s.thick]
        self.current: str | None = None
        self.just_closed: str | None = None
        self.pending: str | None = None

    @property
    def swallows(self) -> bool:
        """Whether Enter or Tab now belongs to a box that has just closed itself."""
        return self.just_closed is not None

    @property
    def idle(self) -> bool:
        """Whether the cursor stands in an empty box, where Enter does nothing."""
        return (
            self.current is not None
            and not self.boxes[self.current].text
            and self.just_closed is None
            and self.pending is None
        )

    def spec(self, key: str) -> BoxSpec:
        """Return a box by its key."""
        return self._by_key[key]

    def fill(self, key: str, value: float | str) -> None:
        """Put a value that the book already has into a box."""
        self.boxes[key] = BoxNow(value=value, closed=True)

    def empty(self) -> None:
        """Empty every box, so that the cursor stops at each of them again.

        What the book could not take stays: it is nowhere else.
        """
        for key, box in self.boxes.items():
            if not box.unwritten:
                self.boxes[key] = BoxNow()
        self.current = self.just_closed = self.pending = None

    def mirror(self, known: Mapping[str, float]) -> None:
        """Show what the book has of depths and pressures: what was taken back goes.

        The box that is being typed and the one yet to be entered are left alone.
        """
        for key, box in self.boxes.items():
            typing = key == self.current and box.text and not box.closed
            busy = typing or key == self.pending or box.word or box.outside or box.unwritten
            if busy or self._by_key[key].kind not in ("tread", "pressure"):
                continue
            if key in known:
                if not (box.closed and box.value == known[key]):
                    self.fill(key, known[key])
            elif box.closed:
                self.boxes[key] = BoxNow()

    @property
    def asked(self) -> str | None:
        """Return the box whose value is asked about, the one typed last first."""
        return next((k for k in reversed(self._order) if self.boxes[k].doubt), None)

    def keep(self) -> list[BoxEvent]:
        """Stand by the value that is asked about."""
        key = self.asked
        if key is None:
            return []
        self.boxes[key].doubt = ""
        return [BoxEvent("kept", key, self.boxes[key].value)]

    def take_over(self, other: "BoxWalk", keep: Callable[[str], bool]) -> None:
        """Go on for another walk: its boxes to keep, its cursor, and what it has yet to say."""
        for key, box in other.boxes.items():
            if key in self.boxes and (keep(key) or box.unwritten):
                self.boxes[key] = box
        if other.current in self.boxes:
            self.current = other.current
        if other.just_closed in self.boxes:
            self.just_closed = other.just_closed
        if other.pending in self.boxes and keep(other.pending or ""):
            self.pending = other.pending

    def first_empty(self) -> str | None:
        """Return the first box still to fill, the needed ones first."""
        return next((k for k in self._order if not self.boxes[k].closed), None)

    def move_to(self, key: str | None) -> list[BoxEvent]:
        """Put the cursor on a box by tap, Tab or arrow."""
        events = self.flush()
        self.just_closed = None
        events += self._leave()
        self.current = key
        if key is not None:
            events.append(BoxEvent("moved", key))
        return events

    def flush(self) -> list[BoxEvent]:
        """Commit what has closed; called with the next key or after half a second."""
        if self.pending is None:
            return []
        key, self.pending = self.pending, None
        box = self.boxes[key]
        return [BoxEvent("committed", key, box.value, box.word)]

    def settle(self) -> list[BoxEvent]:
        """Half a second has passed: commit, and Enter is Enter again."""
        events = self.flush()
        self.just_closed = None
        if self.current is None:
            events.append(BoxEvent("done", ""))
        return events

    def press(self, sign: str) -> list[BoxEvent]:
        """Take one key: a digit, point, sign, ENTER, TAB, BACK, or a word key's sign."""
        sign = "." if sign == "," else sign
        if sign in (ENTER, TAB):
            return self._close_key()
        if sign in (".", BACK) and self.just_closed is not None:
            return self._take_back(sign)
        self.just_closed = None
        events = self.flush()
        if self.current is None:
            return events
        return events + self._type(self.current, sign)

    def press_word(self, word: Word) -> list[BoxEvent]:
        """Take one of the word keys."""
        self.just_closed = None
        events = self.flush()
        if self.current is None:
            return events
        key = self.current
        spec, box = self._by_key[key], self.boxes[key]
        if word == "same":
            if spec.last is None:
                return events
            box.value, box.word = spec.last, ""
        else:
            box.value, box.word = None, word
        box.text, box.outside = "", False
        return events + self._closed(key, by_itself=False)

    def _type(self, key: str, sign: str) -> list[BoxEvent]:
        spec, box = self._by_key[key], self.boxes[key]
        scan = spec.kind == "rim"
        if sign == "/" and not scan:
            return self.press_word("unknown")
        if sign in ("s", "S") and not scan:
            return self.press_word("same")
        if sign in ("k", "K") and not scan:
            return self.keep()
        if sign == BACK and not box.text and not box.closed and self.asked is not None:
            return self.move_to(self.asked)
        if box.closed:
            self.boxes[key] = box = BoxNow()
        if sign == BACK:
            box.text = box.text[:-1]
        elif sign == "*" and spec.kind == "tread" and not box.text:
            box.text = "*"
        elif sign in ("-", "−") and spec.kind in _SIGNED and not box.text:
            box.text = "-"
        elif sign == "." and spec.kind in _POINTED and "." not in box.text and box.text:
            box.text += "."
        elif sign.isdigit() and not scan and box.outside and self._full(spec.kind, box.text):
            # Whoever types on blindly must still see the value that was refused.
            return [BoxEvent("outside", key)]
        elif (sign.isdigit() and len(sign) == 1) or (scan and sign.isprintable()):
            box.text += sign
        else:
            return []
        box.outside = False
        if self._full(spec.kind, box.text):
            return self._try_close(key, by_itself=True)
        return [BoxEvent("typed", key)]

    def _full(self, kind: BoxKind, text: str) -> bool:
        digits = text.lstrip("*-")
        wanted = _DIGITS[kind]
        return wanted > 0 and digits.isdigit() and len(digits) == wanted

    def _try_close(self, key: str, *, by_itself: bool) -> list[BoxEvent]:
        spec, box = self._by_key[key], self.boxes[key]
        value: float | str | None
        if spec.kind == "rim":
            value = self.resolve(box.text) if self.resolve else box.text
            fine = value is not None
        else:
            value = value_of(spec.kind, box.text)
            low, high = self.limits[spec.kind]
            fine = value is not None and low <= value <= high
        if not fine:
            box.outside = True
            # The point of "10.04" may still come: it must find the box it belongs to.
            return [BoxEvent("outside", key, value)]
        box.value, box.word = value, ""
        return self._closed(key, by_itself=by_itself)

    def _closed(self, key: str, *, by_itself: bool) -> list[BoxEvent]:
        box = self.boxes[key]
        box.closed = True
        self.pending = key
        self.just_closed = key if by_itself else None
        later = self._order[self._order.index(key) + 1 :]
        self.current = next((k for k in later if not self.boxes[k].closed), None)
        events = [BoxEvent("closed", key, box.value, box.word)]
        if self.current is not None:
            events.append(BoxEvent("moved", self.current))
        return events

    def _close_key(self) -> list[BoxEvent]:
        if self.just_closed is not None:
            self.just_closed = None
            return self.flush()
        if self.current is None or not self.boxes[self.current].text:
            return self.flush()
        if self.boxes[self.current].closed:
            return self.flush()
        return self.flush() + self._try_close(self.current, by_itself=False)

    def _take_back(self, sign: str) -> list[BoxEvent]:
        key = self.just_closed
        assert key is not None
        self.just_closed, self.pending = None, None
        box = self.boxes[key]
        box.closed, box.value, box.doubt = False, None, ""
        if self._by_key[key].kind not in _POINTED and sign == ".":
            return []
        box.text = box.text[:-1] if sign == BACK else box.text + sign
        self.current = key
        return [BoxEvent("taken_back", key), BoxEvent("moved", key)]

    def _leave(self) -> list[BoxEvent]:
        """Close a half-typed box that the cursor leaves, where its value can stand."""
        key = self.current
        if key is None or self.boxes[key].closed or not self.boxes[key].text:
            return []
        events = self._try_close(key, by_itself=False)
        return [e for e in events if e.kind != "moved"] + self.flush()
