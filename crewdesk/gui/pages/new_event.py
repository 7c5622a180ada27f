"""A new event from nothing: itinerary, stock and car; all else has a default."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import platformdirs
from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout

from crewdesk.errors import CrewdeskError
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, label, set_kind
from crewdesk.gui.session import Session
from crewdesk.gui.theme import Sizes, Theme

if TYPE_CHECKING:
    from crewdesk.desk.importing import FoundHandover
    from crewdesk.documents.faults import CheckReport
    from crewdesk.documents.new_event import NewEvent
    from crewdesk.gui.pages.new_event_form import EventForm
    from crewdesk.gui.pages.new_event_table import TableSection

EVENT, ITINERARY, STOCK, WEATHER = "event", "itinerary", "stock", "weather"
PARTS: Final = (EVENT, ITINERARY, STOCK, WEATHER)
_CHECK_MS, _DRAFT_MS = 150, 800


class NewEventPage(Page):
    """Four parts: event and car, itinerary, stock, forecast; the last three are tables."""

    key = "new_event"
    made = Signal(object)
    """Folder of the new event."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.tables: dict[str, TableSection] = {}
        self.form: EventForm | None = None
        self._lines = QVBoxLayout(self)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(6)
        self._part = ITINERARY
        self._report: CheckReport | None = None
        self._look: tuple[Theme, Sizes] | None = None
        self._event_id: Any = None
        self._soon = QTimer(self, interval=_CHECK_MS, singleShot=True)
        self._soon.timeout.connect(self.check)
        self._keep = QTimer(self, interval=_DRAFT_MS, singleShot=True)
        self._keep.timeout.connect(self.keep_draft)

    # ---- make; only when it is wanted, so that the window is not kept waiting at the start

    def _build(self) -> None:
        from uuid import uuid4

        from crewdesk.gui.pages.new_event_form import EventForm
        from crewdesk.gui.pages.new_event_table import TableSection

        self._event_id = uuid4()
        self.choice = Choice("new_part", [(part, part) for part in PARTS], self.show_part)
        self.form = EventForm()
        empty = self.tr("Choose a file, paste rows from a spreadsheet, or add rows by hand. ")
        self.tables = {
            ITINERARY: TableSection(
                "itinerary",
                self.tr("Itinerary"),
                empty + self.tr("A row for every control, stage and service; the first time "
                                "with its date, or the first day under Event."),
            ),
            STOCK: TableSection(
                "stock",
                self.tr("Stock"),
                empty + self.tr("A row for every tyre: its name, maker, model, compound, "
                                "use, size, depth when new; for a used one the depth now."),
            ),
            WEATHER: TableSection(
                "weather",
                self.tr("Forecast"),
                empty + self.tr("A row for every hour, as 2026-05-16 09:00; may be left out."),
            ),
        }  # fmt: skip
        self.last = button(self.tr("Last\nhandover"), "new_stock_handover", self._take_handover)
        self.tables[STOCK].buttons.insertWidget(1, self.last)
        self.stack = QStackedWidget()
        self.stack.addWidget(self.form)
        for table in self.tables.values():
            self.stack.addWidget(table)
            table.edited.connect(self._edited)
            table.said.connect(self.session.notice)
        self.form.edited.connect(self._edited)
        self.title = label(self.tr("New event"), "new_title", "title")
        self._lines.addWidget(self.choice)
        self._lines.addWidget(self.stack, 1)
        if self._look is not None:
            self.set_look(*self._look)
        self._find_handover()
        self._take_draft()
        self.show_part(self._part)

    def heading(self) -> str:
        return self.tr("New event")

    def making(self) -> tuple[str, str]:
        if self.form is None:
            return self.tr("New event"), ""
        name = self.form.name.text().strip()
        wanted = [self._titles()[part] for part in PARTS if self._wanting(part)]
        state = (
            self.tr("still wanted: {0}").format(", ".join(wanted))
            if wanted
            else self.tr("all is there")
        )
        return self.tr("New event: {0}").format(name or self.tr("no name yet")), state

    def refresh(self) -> None:
        if self.form is None:
            self._build()
            self.check()

    def entered(self) -> None:
        self._focus()

    def _focus(self) -> None:
        if self._part in self.tables:
            self.tables[self._part].table.setFocus()
        elif self.form is not None:
            self.form.car.buttons[0][0].setFocus()

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        self._look = (theme, sizes)
        for table in self.tables.values():
            table.set_look(theme, sizes)

    # ---- the parts

    def show_part(self, part: object) -> None:
        """Show one of the four parts."""
        self._part = str(part)
        self.choice.set_value(self._part)
        self.stack.setCurrentIndex(PARTS.index(self._part))
        self.primary_changed.emit()
        self._focus()

    def _edited(self) -> None:
        self._soon.start()
        self._keep.start()

    def _find_handover(self) -> None:
        """Look for the last handover in the crew's folders; offer it where there is one."""
        from crewdesk.desk.importing import last_handovers

        found = last_handovers(*self._roots())
        self._handover: FoundHandover | None = found[0] if found else None
        self.last.setVisible(self._handover is not None)
        if self._handover is not None:
            self.last.setAccessibleName(
                self.tr("Stock from the handover of {0}").format(self._handover.event)
            )
            self.tables[STOCK].also(
                self.tr("Last handover: {0}, {1}, {2} tyres.").format(
                    self._handover.event,
                    self._handover.last_day.isoformat(),
                    self._handover.tyres,
                )
            )

    def _roots(self) -> tuple[Path, ...]:
        if self.session.data_dir is not None:
            return (Path(self.session.data_dir),)
        return (
            platformdirs.user_data_path("crewdesk", appauthor=False),
            platformdirs.user_documents_path() / "crewdesk",
        )

    def _take_handover(self) -> None:
        if self._handover is not None:
            self.tables[STOCK].take_file(self._handover.path)

    # ---- check

    def new(self) -> "NewEvent":
        """Return the new event as it stands."""
        from crewdesk.documents.new_event import NewEvent

        assert self.form is not None
        for table in self.tables.values():
            table.first_day = self.form.first_day
        values: dict[str, Any] = self.form.values()
        weather = self.tables[WEATHER]
        return NewEvent(
            itinerary=self.tables[ITINERARY].make(),
            stock=self.tables[STOCK].make(),
            weather=weather.make() if weather.filled else None,
            handover=self.tables[STOCK].handover,
            event_id=self._event_id,
            **values,
        )

    def check(self) -> None:
        """Look over all of it as an event, and mark every fault in its cell."""
        from crewdesk.documents.importing import faults_in
        from crewdesk.documents.new_event import new_texts
        from crewdesk.documents.store import check_texts

        if self.form is None:
            return
        self._soon.stop()
        new = self.new()
        texts = new_texts(new)
        texts.pop("handover.json", None)
        self._report = check_texts(texts)
        for table in self.tables.values():
            faults = faults_in(table.made, self._report) if table.filled else ()
            table.judged(table.made, faults)
        filled = self.tables[ITINERARY].filled
        assumed = self.tr("Assumed until you say otherwise: {0}.").format(
            "; ".join(new.assumed())
        )
        wrong = self._wrong_event()
        set_kind(self.form.assumed, "stops" if wrong else "muted")
        self.form.assumed.setText(wrong or (assumed if filled else ""))
        self._show_marks()
        self.primary_changed.emit()

    def _wrong_event(self) -> str:
        assert self.form is not None
        wrong = self.form.wrong()
        if not wrong and self._report is not None:
            own = [f for f in self._report.faults if f.file == "event.json"]
            wrong = f"{own[0].what} {own[0].hint}".strip() if own else ""
        return f"■ {wrong}" if wrong else ""

    def _count(self, part: str) -> int:
        if part == EVENT:
            return 1 if self._wrong_event() else 0
        return len(self.tables[part].faults)

    def _wanting(self, part: str) -> bool:
        """Say whether a part still needs something before the event can be opened."""
        assert self.form is not None
        if part == EVENT:
            return self.form.car.value is None or bool(self._wrong_event())
        if part == WEATHER:
            return self.tables[WEATHER].filled and bool(self.tables[WEATHER].faults)
        return not self.tables[part].filled or bool(self.tables[part].faults)

    def _titles(self) -> dict[str, str]:
        return {
            EVENT: self.tr("Event and car"),
            ITINERARY: self.tr("Itinerary"),
            STOCK: self.tr("Stock"),
            WEATHER: self.tr("Forecast"),
        }

    def _show_marks(self) -> None:
        for made, part in self.choice.buttons:
            words = self._titles()[str(part)]
            faults = self._count(str(part))
            if faults:
                mark = self.tr("■ {0}").format(faults) if part != EVENT else "■"
                spoken = self.tr("{0}, {1} faults").format(words, faults)
            elif self._wanting(str(part)):
                mark, spoken = "○", self.tr("{0}, still wanted").format(words)
            elif part == WEATHER and not self.tables[WEATHER].filled:
                mark, spoken = "", self.tr("{0}, may be left out").format(words)
            else:
                mark, spoken = "✓", self.tr("{0}, done").format(words)
            made.setText(f"{mark} {words}".strip())
            made.setAccessibleName(spoken)

    # ---- the primary button

    def _next_part(self) -> str | None:
        """Return the part that is wanted next, the open one last; None: all is there."""
        order = [p for p in (ITINERARY, STOCK, EVENT, WEATHER) if self._wanting(p)]
        others = [part for part in order if part != self._part]
        return others[0] if others else (order[0] if order else None)

    def primary_text(self) -> str:
        if self.form is None:
            return self.tr("Save and open")
        part = self._next_part()
        if part is None:
            return self.tr("Save and open")
        if part == self._part:
            return self.tr("Show what is missing")
        return self.tr("Next: {0}").format(self._titles()[part])

    def primary(self) -> None:
        self.check()
        part = self._next_part()
        if part is None:
            self._save()
            return
        if part != self._part:
            self.show_part(part)
            return
        if part in self.tables and self.tables[part].faults:
            self.tables[part].next_fault()
            return
        self.session.notice(
            "note",
            self.tr("Choose the kind of car.")
            if part == EVENT
            else self.tr("{0}: choose a file, paste rows, or add rows by hand.").format(
                self._titles()[part]
            ),
        )

    def undo(self) -> None:
        self._step(redo=False)

    def redo(self) -> None:
        self._step(redo=True)

    def _step(self, *, redo: bool) -> None:
        """Take back in the table that is open; the day book has nothing to do with it."""
        table = self.tables.get(self._part)
        if table is None or not table.step(redo=redo):
            nothing = self.tr("Nothing to redo here.") if redo else self.tr("Nothing to undo.")
            self.session.notice("note", nothing)

    def row_action(self) -> bool:
        table = self.tables.get(self._part)
        if table is None:
            return False
        if not table.model.rows:
            return False
        return table.edit_current()

    def _save(self) -> None:
        from crewdesk.documents.new_event import new_texts, write_event

        new = self.new()
        try:
            folder = write_event(self._free_folder(new.shown_name), new_texts(new))
        except CrewdeskError as error:
            self.session.notice("stops", str(error))
            return
        self._forget()
        self.made.emit(folder)
        if self.session.folder == folder:
            self.session.notice("done", self.tr("Event saved in {0}").format(folder))

    def _free_folder(self, name: str) -> Path:
        """Return a folder that is not there yet, named after the event."""
        root = self.session.data_dir or platformdirs.user_documents_path() / "crewdesk"
        base = re.sub(r"[^\w-]+", "_", name).strip("_") or "event"
        folder, number = Path(root) / "events" / base, 1
        while folder.exists():
            number += 1
            folder = Path(root) / "events" / f"{base}_{number}"
        return folder

    def _forget(self) -> None:
        """Begin anew: what was typed is an event now."""
        from uuid import uuid4

        self._event_id = uuid4()
        for table in self.tables.values():
            table.restore((), (), (), "")
        assert self.form is not None
        self.form.restore(dict.fromkeys(self.form.texts(), ""))
        self.form.zone.setText(self.form_zone())
        self._part = ITINERARY
        self._soon.stop()
        self._keep.stop()
        self.show_part(self._part)
        from crewdesk.gui.pages.new_event_draft import drop_draft

        drop_draft(self._roots()[0])

    @staticmethod
    def form_zone() -> str:
        """Return the zone that a new form begins with."""
        from crewdesk.gui.pages.new_event_form import machine_zone

        return machine_zone()

    # ---- what was typed outlives a restart

    def left(self) -> None:
        super().left()
        if self._keep.isActive():
            self.keep_draft()

    def keep_draft(self) -> None:
        """Keep what was typed on disk."""
        from crewdesk.gui.pages.new_event_draft import write_draft

        self._keep.stop()
        if self.form is None:
            return
        said = write_draft(self._roots()[0], self.form, self.tables)
        if said:
            self.session.notice("watch", said)

    def _take_draft(self) -> None:
        from crewdesk.gui.pages.new_event_draft import read_draft

        assert self.form is not None
        if read_draft(self._roots()[0], self.form, self.tables):
            self.session.notice(
                "note", self.tr("What you typed last time is here again; go on from there.")
            )
