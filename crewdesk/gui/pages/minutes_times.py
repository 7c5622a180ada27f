"""The crew's own work times: a table of work, people and minutes, kept with the event."""

from functools import partial
from math import isfinite

from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QWidget

from crewdesk.gui.parts import label, text_field
from crewdesk.gui.session import Session
from crewdesk.journal.entries import DocumentsChanged

PEOPLE = (1, 2, 3, 4)


class WorkTable(QWidget):
    """One line for each kind of work; a field left empty is as it ships."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setObjectName("work_table")
        self._session = session
        self.fields: dict[str, QLineEdit] = {}
        self._sources: dict[str, QLabel] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 4, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(4)
        self.whole = label("", "work_whole", "strong", wrap=True)
        grid.addWidget(self.whole, 0, 0, 1, 4)
        heads = (self.tr("Work"), self.tr("People"), self.tr("Minutes"), self.tr("From"))
        for at, words in enumerate(heads):
            grid.addWidget(label(words, f"work_head_{at}", "muted"), 1, at)
        for line, (name, work, people) in enumerate(self._work(), start=2):
            field = text_field(f"work_{name}", work)
            field.setFixedWidth(96)
            field.editingFinished.connect(partial(self._edited, name))
            self.fields[name] = field
            self._sources[name] = label("", f"work_{name}_from", "muted", wrap=True)
            grid.addWidget(label(work, f"work_{name}_label", wrap=True), line, 0)
            grid.addWidget(label(people, f"work_{name}_people"), line, 1)
            grid.addWidget(field, line, 2)
            grid.addWidget(self._sources[name], line, 3)
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(3, 2)
        grid.setRowStretch(grid.rowCount(), 1)

    def _work(self) -> tuple[tuple[str, str, str], ...]:
        one, all_of_us, none = self.tr("one"), self.tr("all"), self.tr("–")
        return (
            ("wheel_min", self.tr("A wheel off and one on"), one),
            ("stands_min", self.tr("Car up on stands and down"), all_of_us),
            ("torque_min", self.tr("Torque of a wheel"), one),
            ("tread_min", self.tr("Tread of a tyre, three points"), one),
            ("pressure_min", self.tr("Pressure of a wheel"), one),
            ("cross_min", self.tr("A wheel to another corner, more"), one),
            ("machine_min", self.tr("A tyre onto a rim by machine"), one),
            ("machines", self.tr("Fitting machines, how many"), none),
            ("people", self.tr("People as usual, how many"), none),
            ("people_one_day", self.tr("The same at an event of one leg"), none),
            ("van_kmh", self.tr("The van on the road, km/h"), none),
            ("van_margin_min", self.tr("The van in the zone before the car"), none),
        )

    def refresh(self) -> None:
        """Show what holds and where it comes from."""
        if not self._session.is_open:
            return
        from crewdesk.desk.minutes import Work, times_of, work_min

        times = times_of(self._session.bundle)
        for name, field in self.fields.items():
            if not (field.hasFocus() and field.isModified()):
                field.setText(f"{getattr(times, name):g}")
            self._sources[name].setText(times.sources.get(name, ""))
        parts = [
            (self.tr("{0} person {1}") if n == 1 else self.tr("{0} people {1}")).format(
                n, work_min(Work(wheels=4), n, times)
            )
            for n in PEOPLE
        ]
        self.whole.setText(
            self.tr("Four wheels off and on, minutes: {0}").format(" · ".join(parts))
        )

    def _edited(self, name: str) -> None:
        """Keep what was typed; an emptied field takes the time that ships."""
        session, field = self._session, self.fields[name]
        if not session.is_open:
            return
        from crewdesk.desk.minutes import times_of

        own = session.bundle.event.settings.work_times.given()
        text = field.text().strip().replace(",", ".")
        field.setModified(False)
        if text == f"{getattr(times_of(session.bundle), name):g}":
            return
        meant = {key: value for key, value in own.items() if key != name}
        if text:
            try:
                meant[name] = float(text)
            except ValueError:
                meant[name] = 0.0
            if not (isfinite(meant[name]) and meant[name] > 0):
                session.notice("note", self.tr("“{0}” is no number over 0.").format(text))
                self.refresh()
                return
        if meant != own:
            session.enter(
                DocumentsChanged(what="setting", target="work_times", value=meant),
                self.tr("our own minutes: {0} {1}").format(
                    field.accessibleName().lower(), text or self.tr("as it ships")
                ),
            )
        self.refresh()
