"""The loop: stages run, what comes over the radio, notes, wheels moved on the road."""

from functools import partial

from PySide6.QtWidgets import QGridLayout, QLineEdit

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import clock
from crewdesk.gui.timing import leg_closed, leg_ended, place_ahead
from crewdesk.journal.entries import DocumentsChanged, Note, OffRoad, StageRun


class LoopPage(Page):
    """While the car is on its stages."""

    key = "loop"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label("", "loop_title", "title", wrap=True)
        self._rows, area = lines_in("loop_stages", spacing=6)
        self.note = QLineEdit()
        self.note.setObjectName("loop_note")
        self.note.setAccessibleName(self.tr("Note"))
        self.note.setPlaceholderText(self.tr("note: what came over the radio"))
        self.keep = button(self.tr("Keep the note"), "loop_keep", self._keep)
        buttons = QGridLayout()
        buttons.setSpacing(6)
        for at, (text, name, where) in enumerate(
            (
                (self.tr("Incident"), "loop_incident", "incident"),
                (self.tr("Wheels moved"), "loop_moved", "moved"),
                (self.tr("Bulletin"), "loop_change", "change"),
                (self.tr("Late at a control"), "loop_late", "late"),
            )
        ):
            made = button(text, name, partial(self.go.emit, where))
            buttons.addWidget(made, at // 3, at % 3)
        self.stopped = button(self.tr("Car stopped"), "loop_stopped", self._stopped)
        self.restart = button(self.tr("Car starts again"), "loop_restart", self._restart)
        buttons.addWidget(self.stopped, 1, 1)
        buttons.addWidget(self.restart, 1, 2)
        self.setLayout(
            column(
                self.title,
                area,
                row(self.note, self.keep),
                buttons,
            )
        )

    def heading(self) -> str:
        return self.tr("Loop")

    def primary_text(self) -> str:
        if self._leg_ended():
            return self.tr("Close leg")
        return self.tr("Next call") if self._ahead() else self.tr("Handover")

    def primary(self) -> None:
        if self._leg_ended():
            self.go.emit("close_leg")
        else:
            self.go.emit("conditions" if self._ahead() else "handover")

    def _leg_ended(self) -> bool:
        session = self.session
        if not session.is_open or session.state.closed:
            return False
        if leg_ended(session.bundle, session.state) is not None:
            return True
        # Behind the last change place nothing else is to come.
        last = session.bundle.itinerary.rows[-1].leg
        return not self._ahead() and not leg_closed(session.state, last)

    def _ahead(self) -> bool:
        return (
            self.session.is_open
            and place_ahead(self.session.bundle, self.session.state) is not None
        )

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        session, state = self.session, self.session.state
        itinerary = session.bundle.itinerary
        fittings = state.fittings
        places = itinerary.change_places
        place = itinerary.place(fittings[-1].place) if fittings else places[0]
        self.title.setText(
            self.tr("Loop {0} after {1}").format(place.loop, place.key)
            if place.stages
            else self.tr("No stages before the next change")
        )
        self.keep_cursor()
        clear(self._rows)
        for ref in place.stages:
            stage = itinerary.stage(ref)
            run, gone = ref in state.stages_run, ref in state.cancelled
            word = self.tr("✓ run") if run else self.tr("cancelled") if gone else ""
            text = (
                self.tr("{0}  {1}  {2} km  {3}  {4}")
                .format(
                    ref, stage.name, f"{stage.km:.1f}", clock(stage.due_utc, session.zone), word
                )
                .rstrip()
            )
            done = button(
                self.tr("Run"),
                f"run_{ref}",
                partial(self._run, ref),
                spoken=self.tr("{0} is run").format(ref),
            )
            report = button(
                self.tr("Road report"),
                f"report_{ref}",
                partial(self.go.emit, f"report:{ref}"),
                spoken=self.tr("Road report of {0}").format(ref),
            )
            cancel = button(
                self.tr("Cancelled"),
                f"cancel_{ref}",
                partial(self._cancelled, ref),
                spoken=self.tr("{0} is cancelled").format(ref),
            )
            line = row(
                label(text, f"stage_{ref}", "strong", wrap=True),
                report,
                cancel,
                done,
                spacing=6,
            )
            line.setStretch(0, 1)
            self._rows.addLayout(line)
            done.setVisible(not run and not gone)
            cancel.setVisible(not run and not gone)
        self._rows.addStretch(1)
        self.primary_changed.emit()

    def _run(self, ref: str) -> None:
        self.session.enter(StageRun(stage=ref), self.tr("{0} run").format(ref))

    def _cancelled(self, ref: str) -> None:
        self.session.enter(
            DocumentsChanged(what="stage_cancelled", target=ref),
            self.tr("{0} cancelled").format(ref),
        )

    def _keep(self) -> None:
        text = self.note.text().strip()
        if not text:
            self.session.notice("note", self.tr("Write the note first."))
            return
        if self.session.enter(Note(text=text), self.tr("note")) is not None:
            self.note.clear()

    def _stopped(self) -> None:
        state = self.session.state
        itinerary = self.session.bundle.itinerary
        ahead = [s.ref for s in itinerary.stages if s.ref not in state.stages_run]
        self.session.enter(
            OffRoad(where=ahead[0] if ahead else ""), self.tr("car stopped for the day")
        )

    def _restart(self) -> None:
        self.session.enter(OffRoad(restarts=True), self.tr("car starts again"))
