"""How a typed table takes keys and shows the cell under the cursor."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QPainter, QPen
from PySide6.QtWidgets import (
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)


class TypedTableView(QTableView):
    """A table in which a tap opens the cell; Ctrl+V, Ctrl+D and Down at its end work."""

    paste_wanted = Signal()
    fill_wanted = Signal()
    clear_wanted = Signal()
    row_wanted = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste_wanted.emit()
            return
        # Not the desktop's own list of delete keys: there Ctrl+D may be one.
        if event.key() == Qt.Key.Key_Delete:
            self.clear_wanted.emit()
            return
        control = Qt.KeyboardModifier.ControlModifier
        if event.key() == Qt.Key.Key_D and event.modifiers() & control:
            self.fill_wanted.emit()
            return
        at_end = self.currentIndex().row() == self.model().rowCount() - 1
        if event.key() == Qt.Key.Key_Down and at_end:
            self.row_wanted.emit()
            return
        super().keyPressEvent(event)


class FaultDelegate(QStyledItemDelegate):
    """A faulty cell keeps its colour under the cursor; a frame shows where that is."""

    def setEditorData(
        self, editor: QWidget, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Fill an opened cell; a check that comes while it is typed in takes nothing away."""
        if isinstance(editor, QLineEdit) and editor.isModified():
            return
        super().setEditorData(editor, index)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        selected = QStyle.StateFlag.State_Selected
        ground = index.data(Qt.ItemDataRole.BackgroundRole)
        if ground is None or not option.state & selected:
            super().paint(painter, option, index)
            return
        option.state &= ~selected
        super().paint(painter, option, index)
        painter.save()
        try:
            pen = QPen(index.data(Qt.ItemDataRole.ForegroundRole), 3)
            painter.setPen(pen)
            painter.drawRect(option.rect.adjusted(1, 1, -2, -2))
        finally:
            painter.restore()
