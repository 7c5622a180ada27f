"""The damage card of one tyre: kind, size and place; the tyre is locked by it."""

from functools import partial
from typing import Any, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from crewdesk.gui.caution_lines import caution_texts
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, column, label, row, scrolling, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.texts import wheel
from crewdesk.journal.entries import Incident
from crewdesk.units import CORNERS

NOT_KNOWN: Final = "?"


class DamagePage(Page):
    """What is seen on a tyre, wherever it lies."""

    key = "damage"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._tyre = ""
        self.text = text_field(
            "damage_tyre", self.tr("Rim, tyre or mark"), self.tr("rim, tyre or mark")
        )
        self.text.editingFinished.connect(self._find)
        self.known = label("", "damage_known", "strong", wrap=True)
        self._choices: dict[str, Choice] = {}
        self._texts = {
            key: text_field(f"damage_{key}", words, words)
            for key, words in (
                ("length", self.tr("length, mm")),
                ("depth", self.tr("depth, mm")),
                ("photo", self.tr("photo")),
                ("by", self.tr("seen by")),
                ("note", self.tr("words")),
            )
        }
        self.caution = label("", "damage_caution", "muted", wrap=True)
        head = row(self.text, self.known)
        head.setStretch(0, 1)
        head.setStretch(1, 2)
        form = QWidget()
        fields = QGridLayout()
        fields.setSpacing(6)
        for at, field in enumerate(self._texts.values()):
            fields.addWidget(field, 0, at)
        form.setLayout(column(*self._rows(), fields, self.caution, 1))
        self.setLayout(
            column(
                label(self.tr("Damage card"), "damage_title", "title"),
                head,
                scrolling("damage_form", form),
            )
        )

    def _rows(self) -> list[Any]:
        unknown = (self.tr("not known"), NOT_KNOWN)
        return [
            self._row(
                "what",
                self.tr("Kind"),
                [
                    (self.tr("Cut"), "cut"),
                    (self.tr("Puncture"), "puncture"),
                    (self.tr("Bulge"), "bulge"),
                    (self.tr("Leak"), "leak"),
                ],
            ),
            self._row(
                "more",
                "",
                [
                    (self.tr("Off the bead"), "bead"),
                    (self.tr("Flat spot"), "flat_spot"),
                    (self.tr("Rim"), "rim"),
                    (self.tr("Other"), "other"),
                ],
            ),
            self._row(
                "spot",
                self.tr("Place"),
                [
                    (self.tr("Tread"), "tread"),
                    (self.tr("Inner\nshoulder"), "shoulder_in"),
                    (self.tr("Outer\nshoulder"), "shoulder_out"),
                    (self.tr("Bead"), "bead"),
                ],
            ),
            self._row(
                "spot_more",
                "",
                [
                    (self.tr("Inner wall"), "wall_in"),
                    (self.tr("Outer wall"), "wall_out"),
                    (self.tr("Valve"), "valve"),
                    unknown,
                ],
            ),
            self._row(
                "cord",
                self.tr("Cord"),
                [(self.tr("shows"), "yes"), (self.tr("does not show"), "no"), unknown],
            ),
            self._row(
                "rim",
                self.tr("Rim"),
                [
                    (self.tr("sound"), "sound"),
                    (self.tr("bent"), "bent"),
                    (self.tr("cracked"), "cracked"),
                    (self.tr("scrap"), "scrap"),
                    unknown,
                ],
            ),
        ]

    def _row(self, key: str, words: str, options: list[tuple[str, object]]) -> Any:
        choice = Choice(f"damage_{key}", options, partial(self._took, key), kind="part")
        self._choices[key] = choice
        head = label(words, f"damage_{key}_label", "strong")
        head.setFixedWidth(72)
        line = row(head, choice)
        line.setStretch(1, 1)
        return line

    def _took(self, key: str, _value: object) -> None:
        pairs = {"what": "more", "more": "what", "spot": "spot_more", "spot_more": "spot"}
        if key in pairs:
            self._choices[pairs[key]].set_value(None)

    def heading(self) -> str:
        return self.tr("Damage card")

    def primary_text(self) -> str:
        return self.tr("Enter damage card")

    def start_for(self, tyre_id: str) -> None:
        """Begin a card for one tyre."""
        self._tyre = tyre_id
        self._forget()
        self.text.setText(self.session.rim_of(tyre_id) or tyre_id)
        self.refresh()

    def entered(self) -> None:
        if not self._tyre:
            self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def _find(self) -> None:
        if not self.session.is_open:
            return
        found = self.session.find_tyre(self.text.text())
        if found is not None and found != self._tyre:
            self._tyre = found
            self._forget()
        self.refresh()

    def _forget(self) -> None:
        for choice in self._choices.values():
            choice.set_value(None)
        for key, field in self._texts.items():
            if key != "by":
                field.clear()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        tyre = self.session.state.tyres.get(self._tyre)
        words = self.tr("Type or scan the wheel.")
        if tyre is not None:
            from crewdesk.desk.tyre_card import damages_of

            where = tyre.place or self.tr("off the car")
            words = f"{wheel(tyre.rim_id, tyre.tyre_id)} {tyre.stock.compound}, {where}"
            earlier = damages_of(self.session.state, self._tyre)
            if earlier:
                words += self.tr(" · known: {0}").format("; ".join(d.words for d in earlier))
        self.known.setText(words)
        said = caution_texts(self.session, "damage")
        said.insert(
            1,
            self.tr(
                "On open roads no cut to the cord longer than 25 mm or a tenth of the section "
                "width, whichever is more; no lump, no tear, no cord showing."
            ),
        )
        self.caution.setText(" ".join(said))

    # ---- entering

    def _value(self, *keys: str) -> str:
        for key in keys:
            value = self._choices[key].value
            if value is not None and value != NOT_KNOWN:
                return str(value)
        return ""

    def primary(self) -> None:
        session = self.session
        if not session.is_open:
            self.go.emit("load")
            return
        self._find()
        tyre = session.state.tyres.get(self._tyre)
        if tyre is None:
            session.notice("note", self.tr("Type or scan the wheel first."))
            self.text.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        kind = self._value("what", "more")
        if not kind:
            session.notice("note", self.tr("Say what kind of damage it is."))
            return
        cord = self._value("cord")
        fittings, ahead = session.state.fittings, session.place
        last = fittings[-1].place if fittings else ahead.key if ahead is not None else ""
        by = "team" if tyre.place is None else ""
        if tyre.place in CORNERS and session.state.at_place is None:
            by = "nobody"
        body = Incident.model_validate(
            {
                "what": kind,
                "tyre_off": self._tyre,
                "corner": tyre.place,
                # Off the car it was seen where it came off; on the road nobody knows where.
                "where": session.state.at_place or ("" if tyre.place else last),
                "changed_by": by,
                "spot": self._value("spot", "spot_more"),
                "cord": None if not cord else cord == "yes",
                "rim_id": tyre.rim_id,
                "rim_state": self._value("rim"),
                "length_mm": self.typed_number(self._texts["length"]),
                "depth_mm": self.typed_number(self._texts["depth"]),
                "photo": self._texts["photo"].text().strip(),
                "by": self._texts["by"].text().strip(),
                "note": self._texts["note"].text().strip(),
            }
        )
        said = self.tr("damage card of {0}").format(self._tyre)
        receipt = session.enter(body, said)
        if receipt is not None and receipt.accepted:
            shown = self._tyre
            self._tyre = ""
            self._forget()
            self.text.clear()
            self.go.emit(f"tyre:{shown}")
