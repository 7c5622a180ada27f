"""Rarer entries: wheels moved on the road, a tyre added."""

from typing import Any

from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from crewdesk.gui.box_host import BoxHost
from crewdesk.gui.boxes import BoxSpec, BoxWalk
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, clear, column, label, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, WALK, wheel
from crewdesk.journal.entries import RoadChange, TyreAdded


class MovedPage(Page):
    """The crew moved wheels on the road with what is on board."""

    key = "moved"
    keypad = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._shape: object = None
        self._where = row()
        self._choice: Choice | None = None
        self._grid_widget = QWidget()
        self._grid = QGridLayout(self._grid_widget)
        self.setLayout(
            column(
                label(self.tr("Wheels moved on the road"), "moved_title", "title"),
                label(
                    self.tr("Type or scan only the places that changed."),
                    "moved_words",
                    wrap=True,
                ),
                self._where,
                self._grid_widget,
                1,
            )
        )

    def heading(self) -> str:
        return self.tr("Wheels moved")

    def primary_text(self) -> str:
        return self.tr("Enter the move")

    def entered(self) -> None:
        if self.host is not None:
            self.host.start()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        state = self.session.state
        car = dict(state.fitted.tyres) if state.fitted is not None else {}
        if self._shape == car:
            return
        self._shape = car
        clear(self._grid)
        clear(self._where)
        itinerary = self.session.bundle.itinerary
        place = itinerary.place(state.fittings[-1].place) if state.fittings else None
        stages = place.stages if place is not None else ()
        options: list[tuple[str, object]] = [(s, s) for s in stages[:5]]
        self._choice = Choice(
            "moved_after", [*options, (self.tr("not known"), "")], lambda _v: None
        )
        self._where.addWidget(label(self.tr("After"), "moved_after_label", "strong"))
        self._where.addWidget(self._choice)
        places = [p for p in WALK if car.get(p)]
        walk = BoxWalk(
            [
                BoxSpec(p, "rim", self.tr("{0}, wheel now there").format(LONG[p]))
                for p in places
            ],
            resolve=self.session.find_tyre,
        )
        self.host = BoxHost(walk, self)
        for line, p in enumerate(places):
            self._grid.addWidget(label(SHORT[p], f"moved_{p}", "strong"), line, 0)
            name = wheel(self.session.rim_of(car[p]), car[p])
            self._grid.addWidget(label(name, f"moved_was_{p}"), line, 1)
            self._grid.addWidget(self.host.make_field(p), line, 2)
        self.host_changed.emit()

    def primary(self) -> None:
        if self.host is None:
            self.go.emit("loop")
            return
        moved: dict[str, Any] = {
            key: box.value
            for key, box in self.host.walk.boxes.items()
            if box.closed and box.value
        }
        if not moved:
            self.session.notice("note", self.tr("Type the wheel that is now at a place."))
            return
        after = str(self._choice.value or "") if self._choice is not None else ""
        body = RoadChange.model_validate({"after": after, "fitting": moved})
        receipt = self.session.enter(body, self.tr("wheels moved {0}").format(" ".join(moved)))
        if receipt is not None and receipt.accepted:
            self._shape = None
            self.go.emit("back")


class AddTyrePage(Page):
    """A tyre joins the stock."""

    key = "add_tyre"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label(self.tr("Add a tyre to the stock"), "add_title", "title")
        grid = QGridLayout()
        grid.setSpacing(8)
        self._fields: dict[str, QLineEdit] = {}
        names = (
            ("tyre_id", self.tr("Tyre")),
            ("like", self.tr("Same kind as tyre")),
            ("mark", self.tr("Mark")),
            ("rim_id", self.tr("Rim")),
            ("tread", self.tr("Tread, mm")),
            ("joker_sheet", self.tr("Replacement sheet")),
            ("replaces", self.tr("Replaces tyre")),
            ("approved_by", self.tr("Approved by")),
        )
        for at, (key, text) in enumerate(names):
            field = QLineEdit()
            field.setObjectName(f"add_{key}")
            field.setAccessibleName(text)
            grid.addWidget(label(text, f"add_{key}_label", "strong"), at // 2, 2 * (at % 2))
            grid.addWidget(field, at // 2, 2 * (at % 2) + 1)
            self._fields[key] = field
        self.jokers = label("", "add_jokers", "strong", wrap=True)
        self.setLayout(column(self.title, grid, self.jokers, 1))

    def heading(self) -> str:
        return self.tr("Add a tyre")

    def entered(self) -> None:
        self._fields["tyre_id"].setFocus()

    def start_for(self, tyre_id: str) -> None:
        """Begin with the replacement of a damaged tyre."""
        self._fields["replaces"].setText(tyre_id)
        self._fields["like"].setText(tyre_id)
        self._fields["tyre_id"].setFocus()

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        counts = self.session.counters()
        self.jokers.setText(
            self.tr(
                "Damage replacements (jokers): {0} of {1} used. One needs the sheet number and "
                "the name of who agreed."
            ).format(counts.get("jokers_used", 0), counts.get("jokers", 0))
        )

    def primary_text(self) -> str:
        return self.tr("Add the tyre")

    def primary(self) -> None:
        if not self.session.is_open:
            self.go.emit("load")
            return
        texts = {k: f.text().strip() for k, f in self._fields.items()}
        like = self.session.find_tyre(texts["like"]) if texts["like"] else None
        if not texts["tyre_id"] or like is None:
            self.session.notice(
                "note", self.tr("Type the new tyre's name and a tyre of the same kind.")
            )
            return
        stock = self.session.state.tyres[like].stock
        tread = texts["tread"].replace(",", ".") or f"{stock.tread_new_mm:g}"
        line = {
            "tyre_id": texts["tyre_id"].upper(),
            "mark": texts["mark"],
            "maker": stock.maker,
            "model": stock.model,
            "compound": stock.compound,
            "use": stock.use,
            "size": stock.size,
            "rim": stock.rim,
            "rim_id": texts["rim_id"].upper(),
            "condition": "used" if texts["tread"] else "new",
            "tread_new_mm": f"{stock.tread_new_mm:g}",
            "tread_in_mm": tread,
            "tread_mid_mm": tread,
            "tread_out_mm": tread,
            "counts_against": "event",
            "registered": "yes" if stock.registered else "no",
            "location": "stock",
        }
        body = TyreAdded(
            row=line,
            joker_sheet=texts["joker_sheet"],
            replaces=texts["replaces"].upper(),
            approved_by=texts["approved_by"],
        )
        receipt = self.session.enter(body, self.tr("tyre {0} added").format(line["tyre_id"]))
        if receipt is not None and receipt.accepted:
            for field in self._fields.values():
                field.clear()
            self.go.emit("back")
