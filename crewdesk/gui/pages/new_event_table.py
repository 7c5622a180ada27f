"""One table of a new event: choose a file, paste, type; its faults marked in the cell."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import ClassVar

from platformdirs import user_documents_path
from PySide6.QtCore import (
    QEvent,
    QModelIndex,
    QObject,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QFileDialog,
    QWidget,
)

from crewdesk.documents.import_headings import Kind
from crewdesk.documents.importing import (
    CellFault,
    Imported,
    import_bytes,
    import_table,
    made_of,
)
from crewdesk.errors import DocumentError
from crewdesk.gui.pages.new_event_model import TypedTable, title_of, width_of
from crewdesk.gui.pages.new_event_undo import Changes, Standing
from crewdesk.gui.pages.new_event_view import FaultDelegate, TypedTableView
from crewdesk.gui.pages.new_event_words import fault_words, read_words
from crewdesk.gui.panels import grow
from crewdesk.gui.parts import button, column, label, row, scrolling, set_kind
from crewdesk.gui.tables import set_sizes
from crewdesk.gui.theme import Sizes, Theme

ROW_PX = 56


class TableSection(QWidget):
    """The table with its ways in, what was understood of it, and the fault in words."""

    edited = Signal()
    said = Signal(str, str)
    """Level and words for the bottom line."""
    last_folder: ClassVar[Path | None] = None
    """Where the last table chosen lay; its neighbours are looked for there first."""

    def __init__(self, kind: Kind, heading: str, empty: str) -> None:
        super().__init__()
        self.kind: Kind = kind
        self.heading = heading
        self.first_day: date | None = None
        self.handover = ""
        """Text of the handover that the stock came from."""
        self.read_as: tuple[str, ...] = ()
        self.notes: tuple[str, ...] = ()
        self._gone: tuple[int, dict[str, str]] | None = None
        self._changes = Changes()
        self._refused = ""
        self.faults: tuple[CellFault, ...] = ()
        self.made: Imported = made_of(kind, ())
        self._sizes = Sizes()
        self._empty = empty
        self.setObjectName(f"new_{kind}")
        self.model = TypedTable(kind)
        self._make_table()
        self._make_buttons()
        self.words = label("", f"new_{kind}_words", wrap=True)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.understood = scrolling(f"new_{kind}_understood", self.words)
        self.detail = label("", f"new_{kind}_detail", wrap=True)
        lines = column(self.buttons, self.understood, self.table, self.detail)
        lines.setStretch(2, 1)
        self.setLayout(lines)
        self.model.edited.connect(self._edited)
        self.show_words()

    # ---- make

    def _make_table(self) -> None:
        self.table = TypedTableView()
        self.table.setObjectName(f"new_{self.kind}_table")
        self.table.setAccessibleName(self.heading)
        self.table.setModel(self.model)
        self.table.setItemDelegate(FaultDelegate(self.table))
        self.table.setTabKeyNavigation(False)
        self.table.setWordWrap(True)
        self.table.setCornerButtonEnabled(False)
        corner = self.table.findChild(QAbstractButton)
        if corner is not None:
            # Drawn by the table where its headers meet; no control of ours.
            corner.setObjectName("")
            corner.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.table.setMinimumHeight(150)
        triggers = QAbstractItemView.EditTrigger
        self.table.setEditTriggers(triggers.AnyKeyPressed | triggers.SelectedClicked)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.horizontalHeader().setHighlightSections(False)
        self.table.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        self.table.paste_wanted.connect(self.paste)
        self.table.row_wanted.connect(self.add_row)
        self.table.fill_wanted.connect(self.fill_down)
        self.table.clear_wanted.connect(self._clear)
        self.table.selectionModel().currentChanged.connect(self._at_cell)
        self.table.installEventFilter(self)
        self._widths()

    def also(self, words: str) -> None:
        """Add a sentence to what an empty table says."""
        self._empty = f"{self._empty} {words}"
        self.show_words()

    def _make_buttons(self) -> None:
        name = f"new_{self.kind}"
        self.choose = button(self.tr("Choose\nfile"), f"{name}_choose", self._choose)
        self.pasted = button(self.tr("Paste\nCtrl+V"), f"{name}_paste", self.paste)
        self.more = button(self.tr("Add row\n↓"), f"{name}_add", self.add_row)
        self.less = button(self.tr("Take row\nout"), f"{name}_less", self.take_row)
        self.down = button(self.tr("Fill down\nCtrl+D"), f"{name}_down", self.fill_down)
        self.next = button(self.tr("Next\nfault"), f"{name}_next", self.next_fault)
        self.every = button(
            self.tr("All\ncolumns"), f"{name}_every", self._every, checkable=True
        )
        self.buttons = row(
            self.choose, self.pasted, self.more, self.less, self.down, self.next, self.every, 1
        )

    # ---- ways in

    def _choose(self) -> None:
        # Where the last table lay, else where a crew keeps its papers; never our own folder.
        begin = TableSection.last_folder or user_documents_path()
        dialog = QFileDialog(self, self.heading, str(begin if begin.is_dir() else Path.home()))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilters(
            [
                self.tr("Tables (*.csv *.xlsx *.txt *.tsv *.json)"),
                self.tr("All files (*)"),
            ]
        )
        dialog.fileSelected.connect(self._chosen)
        dialog.open()

    def _chosen(self, path: str) -> None:
        TableSection.last_folder = Path(path).parent
        self.take_file(Path(path))

    def take_file(self, path: Path) -> bool:
        """Read a table of any layout; what stood here before is only replaced by one read."""
        try:
            imported = import_table(self.kind, path, first_day=self.first_day)
        except DocumentError as error:
            self._refuse(error)
            return False
        self.handover = ""
        if self.kind == "stock" and path.suffix.lower() == ".json":
            self.handover = path.read_text(encoding="utf-8")
        self._take(imported, path.name)
        return True

    def _refuse(self, error: DocumentError) -> None:
        """Say whole, below the table, why nothing was taken; the bottom line is short."""
        self._refused = str(error)
        self.said.emit("watch", self._refused)
        self._at_cell(self.table.currentIndex())

    def paste(self) -> None:
        """Take rows from the clipboard."""
        self.take_text(QGuiApplication.clipboard().text())

    def take_text(self, text: str) -> bool:
        """Take pasted rows; with a heading they are a table, without one they are added."""
        if not text.strip():
            self.said.emit("note", self.tr("Nothing to paste: copy the rows first."))
            return False
        at = self.table.currentIndex()
        start = at.column() if at.isValid() and self.model.rows else 0
        try:
            imported = import_bytes(
                self.kind,
                self.tr("What was pasted"),
                text.encode(),
                first_day=self.first_day,
                columns=self.model.columns[start:],
            )
        except DocumentError as error:
            self._refuse(error)
            return False
        if not imported.headed:
            # More rows of the table that stands here.
            before = [one for one in self.model.rows if any(one.values())]
            self.notes = (*self.notes, *imported.notes)
            self.model.set_rows(
                [*before, *imported.rows],
                comments=(*self.model.comments, *imported.comments),
                extra=self.model.extra,
            )
            self.show_words()
            return True
        self.handover = ""
        self._take(imported, self.tr("Pasted table"))
        return True

    def _take(self, imported: Imported, source: str) -> None:
        over = self.filled
        self.read_as, self.notes = imported.read_as, imported.notes
        extra = [
            name for name in imported.columns if name not in made_of(self.kind, ()).columns
        ]
        self.model.set_rows(imported.rows, comments=imported.comments, extra=extra)
        self._widths()
        self.show_words()
        words = self.tr("{0}: {1} rows read").format(source, len(imported.rows))
        if over:
            words = self.tr("{0}. Ctrl+Z brings back what stood here.").format(words)
        self.said.emit("done", words)

    def restore(
        self,
        rows: Sequence[Mapping[str, str]],
        comments: Sequence[str],
        extra: Sequence[str],
        handover: str,
        told: Sequence[tuple[str, ...]] = ((), ()),
    ) -> None:
        """Take back what was typed before the program was closed."""
        self.handover = handover
        self.read_as, self.notes = told
        self.model.set_rows(rows, comments=comments, extra=extra)
        self._changes.forget(self._standing())
        self.show_words()

    # ---- rows and cells

    def add_row(self) -> None:
        """Add a row and open the cell that it begins with; an empty last row serves as one."""
        rows = self.model.rows
        at = len(rows) - 1 if rows and not any(rows[-1].values()) else self.model.add_row()
        index = self.model.index(at, self._begins())
        self.table.setCurrentIndex(index)
        self.table.scrollTo(index)
        self.edit_current()

    def _begins(self) -> int:
        """Return the column a row begins with; a leg follows from the row above."""
        columns = self.model.columns
        return columns.index("ref") if "ref" in columns else 0

    def take_row(self) -> None:
        """Take the row out; the next tap on the button puts it back."""
        if self._gone is not None:
            self.model.put_row(*self._gone)
            self._forget_gone()
            return
        at = self.table.currentIndex().row()
        if at < 0:
            self.said.emit("note", self.tr("Choose a row first."))
            return
        gone = self.model.take_row(at)
        self._gone = (at, gone)
        self.less.setText(self.tr("Put row\nback"))
        self.less.setAccessibleName(self.less.text().replace("\n", " "))

    def _forget_gone(self) -> None:
        if self._gone is not None:
            self._gone = None
            self.less.setText(self.tr("Take row\nout"))
            self.less.setAccessibleName(self.less.text().replace("\n", " "))

    def fill_down(self) -> None:
        """Copy the cell into the empty and faulty ones below it."""
        at = self.table.currentIndex()
        if not at.isValid():
            self.said.emit("note", self.tr("Choose the cell to copy down first."))
            return
        name = self.model.columns[at.column()]
        if not self.model.data(at, Qt.ItemDataRole.EditRole):
            self.said.emit(
                "note", self.tr("This cell is empty: fill it first, then copy down.")
            )
            return
        count = self.model.fill_down(at.row(), name)
        words = self.tr("{0} copied into {1} cells below")
        if count == 1:
            words = self.tr("{0} copied into {1} cell below")
        if not count:
            words = self.tr("{0}: no empty cell below to copy into")
        self.said.emit("done", words.format(title_of(name), count))

    def _clear(self) -> None:
        at = self.table.currentIndex()
        if at.isValid():
            self.model.setData(at, "")

    def next_fault(self) -> None:
        """Go to the next faulty cell."""
        here = self.table.currentIndex()
        order = [f for f in self.faults if f.row is not None]
        if not order:
            self.said.emit("done", self.tr("No fault found here."))
            return
        at = (here.row(), here.column()) if here.isValid() else (-1, -1)
        cells = sorted({(f.row or 0, self._column_of(f)) for f in order})
        target = next((cell for cell in cells if cell > at), cells[0])
        self.table.setCurrentIndex(self.model.index(*target))
        self.table.scrollTo(self.model.index(*target))
        self.table.setFocus()

    def _column_of(self, fault: CellFault) -> int:
        if fault.column in self.model.columns:
            return self.model.columns.index(fault.column)
        return 0

    def edit_current(self) -> bool:
        """Open the cell in the row; return whether there is one."""
        at = self.table.currentIndex()
        if at.isValid() and self.table.state() != QAbstractItemView.State.EditingState:
            self.table.edit(at)
            return True
        return at.isValid()

    def _every(self) -> None:
        self.model.show_all(self.every.isChecked())
        self._widths()
        self.judged(self.made, self.faults)

    def _widths(self) -> None:
        widths = map(width_of, self.model.columns)
        set_sizes(self.table, ROW_PX, widths, self._sizes)

    # ---- what was found

    def _edited(self) -> None:
        self._forget_gone()
        self._refused = ""
        self._changes.took(self._standing())
        self.edited.emit()

    def _standing(self) -> Standing:
        return Standing.of(
            self.model.rows,
            comments=self.model.comments,
            extra=self.model.extra,
            handover=self.handover,
            read_as=self.read_as,
            notes=self.notes,
        )

    def step(self, *, redo: bool) -> bool:
        """Take the last change back, or do it again; return whether there was one."""
        was = self._changes.forward() if redo else self._changes.back()
        if was is None:
            return False
        at = self.table.currentIndex()
        self.handover, self.read_as, self.notes = was.handover, was.read_as, was.notes
        self.model.set_rows(was.rows, comments=was.comments, extra=was.extra)
        if self.model.rows:
            low = min(max(at.row(), 0), len(self.model.rows) - 1)
            self.table.setCurrentIndex(self.model.index(low, max(at.column(), 0)))
        self.show_words()
        return True

    def make(self) -> Imported:
        """Return the table as it stands, with what follows filled in."""
        self.made = made_of(
            self.kind,
            self.model.rows,
            columns=self.model.extra,
            comments=self.model.comments,
            first_day=self.first_day,
        )
        return self.made

    def judged(self, made: Imported, faults: Sequence[CellFault]) -> None:
        """Show what a check of the whole event found in this table."""
        self.faults = tuple(faults)
        self.model.judged(made.rows, faults)
        self.show_words()
        self._at_cell(self.table.currentIndex())

    @property
    def filled(self) -> bool:
        """Whether any row holds anything."""
        return any(any(one.values()) for one in self.model.rows)

    def show_words(self) -> None:
        """Show which headings were read as what, and what was understood."""
        if not self.filled:
            self.words.setText(self._empty)
            self._fit_words()
            return
        notes = (*self.notes, *self.model.values.notes(), *self.made.notes)
        self.words.setText(read_words(self.kind, self.read_as, notes))
        self._fit_words()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_words()

    def _fit_words(self) -> None:
        grow(self.understood, self.words, self.height())

    def _at_cell(self, index: QModelIndex, _before: QModelIndex | None = None) -> None:
        if self._refused:
            set_kind(self.detail, "stops")
            self.detail.setText(self.tr("■ Nothing was taken: {0}").format(self._refused))
            self.detail.show()
            return
        fault = None
        if index.isValid() and index.row() < len(self.model.rows):
            fault = self.model.fault_at(index.row(), self.model.columns[index.column()])
        fault = fault or next(iter(self.faults), None)
        if fault is None:
            set_kind(self.detail, "ok")
            self.detail.setText(self.tr("✓ No fault found here.") if self.filled else "")
            self.detail.setVisible(self.filled)
            return
        set_kind(self.detail, "stops")
        self.detail.setText(fault_words(self.kind, fault, self.faults))
        self.detail.show()

    # ---- look

    def set_look(self, theme: Theme, sizes: Sizes) -> None:
        """Take theme and sizes."""
        self._sizes = sizes
        self.model.set_look(theme)
        self._widths()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Open the first row when typing begins in an empty table."""
        if (
            watched is self.table
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.text().isprintable()
            and event.text()
            and not self.model.rows
        ):
            # The letter itself goes on to the table, which opens the cell with it.
            at = self.model.index(self.model.add_row(), self._begins())
            self.table.setCurrentIndex(at)
        return super().eventFilter(watched, event)
