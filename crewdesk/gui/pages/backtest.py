"""Simulated days of the open event: what the call is worth against other ways to decide."""

from typing import Final

from PySide6.QtCore import QCoreApplication, Qt, QTimer
from PySide6.QtWidgets import QGridLayout, QProgressBar, QWidget

from crewdesk.desk.backtest.beside import Beside
from crewdesk.desk.backtest.policies import POLICIES
from crewdesk.desk.backtest.score import Backtest
from crewdesk.desk.backtest.words import NAMES, means, told
from crewdesk.documents.bundle import EventBundle
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, button, clear, column, label, row
from crewdesk.gui.session import Session

LOOK_MS: Final = 200
"""How often the window asks how far it is; tuning value of this project."""
DAYS: Final = (10, 50, 200)


class BacktestPage(Page):
    """Play days whose weather, wear and stones nobody knows beforehand; stop at any moment."""

    key = "backtest"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._run: Beside | None = None
        self._event = ""
        self.wanted = Choice(
            "backtest_days",
            [(self.tr("{0} days").format(n), n) for n in DAYS],
            lambda _v: None,
            kind="part",
        )
        self.wanted.set_value(DAYS[0])
        self.bar = QProgressBar()
        self.bar.setObjectName("backtest_bar")
        self.bar.setAccessibleName(self.tr("Days done"))
        # Words on the bar would stand half on its colour.
        self.bar.setTextVisible(False)
        self.count = label("", "backtest_count", "strong")
        self.bar.setMinimumHeight(48)
        self.stop_button = button(self.tr("Stop"), "backtest_stop", self.stop)
        self.words = label("", "backtest_words", wrap=True)
        self._table = QWidget()
        self._grid = QGridLayout(self._table)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(6)
        line = row(self.bar, self.count, self.stop_button)
        line.setStretch(0, 1)
        self.setLayout(
            column(
                label(self.tr("Simulated days"), "backtest_title", "title"),
                label(
                    self.tr(
                        "Plays days of this event whose weather, wear and stones nobody knows "
                        "beforehand, and compares the call with other ways to decide. It takes "
                        "seconds to half a minute a day; entries and calls go on meanwhile, "
                        "but slower. Nothing is written in the day book."
                    ),
                    "backtest_about",
                    wrap=True,
                ),
                self.wanted,
                line,
                self._table,
                self.words,
                1,
            )
        )
        self._timer = QTimer(self, interval=LOOK_MS)
        self._timer.timeout.connect(self.look)
        application = QCoreApplication.instance()
        if application is not None:
            application.aboutToQuit.connect(self.shut)
        self.destroyed.connect(self._timer.stop)
        self._show_state()

    @property
    def running(self) -> bool:
        """Whether days are being played."""
        return self._run is not None

    def heading(self) -> str:
        return self.tr("Simulated days")

    def primary_text(self) -> str:
        return self.tr("Back") if self.running else self.tr("Play the days")

    def primary(self) -> None:
        if self.running:
            self.go.emit("back")
            return
        if not self.session.is_open:
            self.go.emit("load")
            return
        self.begin(self.session.bundle, int(str(self.wanted.value)))

    def refresh(self) -> None:
        event = str(self.session.bundle.event.event_id) if self.session.is_open else ""
        if self._event and event != self._event:
            # Another event is open: what was played is not its own.
            self.shut()
            self._event = ""
            clear(self._grid)
            self.words.setText("")
            self._show_state()

    def begin(self, bundle: EventBundle, days: int) -> None:
        """Start playing, in processes of their own."""
        self._event = str(bundle.event.event_id)
        clear(self._grid)
        self.words.setText(self.tr("Starting …"))
        self._run = self.make(bundle, days)
        self._timer.start()
        self._show_state()

    def make(self, bundle: EventBundle, days: int) -> Beside:
        """Return days that have begun."""
        return Beside(bundle, days)

    def stop(self) -> None:
        """End with what is done."""
        if self._run is not None:
            self._run.stop()
            self.stop_button.setEnabled(False)
            self.words.setText(self.tr("Stopping …"))

    def shut(self) -> None:
        """End it and wait for that: the window goes, or another event came."""
        self._timer.stop()
        if self._run is not None:
            self._run.close()
            self._run = None

    def look(self) -> None:
        """Show how far it is."""
        run = self._run
        if run is None or not run.look():
            return
        if self.stop_button.isEnabled():
            self.words.setText("")
        self._show_done(run.done, run.days)
        if run.finished:
            self.shut()
            if run.made is not None:
                self.show_made(run.made)
            else:
                self.words.setText(run.fault)
            self._show_state()

    def show_made(self, made: Backtest) -> None:
        """Show what came of the days."""
        clear(self._grid)
        self.words.setText("\n".join(told(made)))
        if not made.days:
            return
        heads = (
            "",
            self.tr("Cost, s a day"),
            self.tr("Stages, s"),
            self.tr("Punctures, s"),
            self.tr("Money, as entered"),
            self.tr("Days, rule broken"),
            self.tr("Days, no plan"),
        )
        rows = [heads] + [
            (
                NAMES[name],
                f"{mean.total_s:.1f}",
                f"{mean.time_s:.1f}",
                f"{mean.punctures_s:.1f}",
                f"{mean.money:.0f}",
                str(mean.broken),
                str(mean.no_plan),
            )
            for name in POLICIES
            for mean in [means(made, name)]
        ]
        for at, texts in enumerate(rows):
            for col, text in enumerate(texts):
                kind = "strong" if at == 0 or col == 0 else ""
                cell = label(text, f"backtest_{at}_{col}", kind)
                side = Qt.AlignmentFlag.AlignLeft if col == 0 else Qt.AlignmentFlag.AlignRight
                cell.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
                self._grid.addWidget(cell, at, col)
        self._grid.setColumnStretch(len(heads), 1)

    def _show_done(self, done: int, days: int) -> None:
        self.bar.setMaximum(days)
        self.bar.setValue(done)
        self.count.setText(self.tr("{0} of {1} days").format(done, days))

    def _show_state(self) -> None:
        running = self._run is not None
        if self._run is not None:
            self._show_done(0, self._run.days)
        self.bar.setVisible(running)
        self.count.setVisible(running)
        self.stop_button.setVisible(running)
        self.stop_button.setEnabled(running)
        self.wanted.setEnabled(not running)
        self.primary_changed.emit()
