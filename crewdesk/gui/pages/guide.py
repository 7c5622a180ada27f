"""The user guide on screen: chapters with their pictures, a search, links."""

from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, QUrl
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QResizeEvent,
    QTextBlock,
    QTextCursor,
    QTextDocument,
    QTextFragment,
)
from PySide6.QtWidgets import QLineEdit, QTextBrowser, QVBoxLayout, QWidget

from crewdesk.assets import shipped
from crewdesk.gui.pages.guide_text import chapter, chapters, contents, found_text, headings
from crewdesk.gui.parts import button, row
from crewdesk.gui.theme import FAMILY, Sizes, Theme

_SEARCH_MS = 200
_SIDE_PX = 34
"""Room beside a picture: the frame and the scroll bar."""


class GuideText(QTextBrowser):
    """Text with pictures of the guide, no wider than the view."""

    def loadResource(self, kind: int, name: QUrl | str) -> Any:
        path = name.toString() if isinstance(name, QUrl) else name
        is_picture = kind == QTextDocument.ResourceType.ImageResource.value
        if not is_picture or not path.startswith("pictures/"):
            return None
        image = QImage()
        source = shipped("resources").joinpath("pictures", path.removeprefix("pictures/"))
        if source.is_file():
            image.loadFromData(source.read_bytes(), "PNG")
        room = max(200, self.viewport().width() - _SIDE_PX)
        if image.width() > room:
            image = image.scaledToWidth(room, Qt.TransformationMode.SmoothTransformation)
        return image


class GuideView(QWidget):
    """Contents, earlier, later, search; below them the text."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("guide")
        self._shown = "contents:"
        self._link: QColor | None = None
        self.contents = button(self.tr("Contents"), "guide_contents", self.show_contents)
        self.earlier = button(self.tr("◀ Back"), "guide_earlier", lambda: self._step(-1))
        self.later = button(self.tr("Next ▶"), "guide_later", lambda: self._step(1))
        self.search = QLineEdit()
        self.search.setObjectName("guide_search")
        self.search.setAccessibleName(self.tr("Search the guide"))
        self.search.setPlaceholderText(self.tr("search the guide"))
        self.search.setClearButtonEnabled(False)
        self._soon = QTimer(self, interval=_SEARCH_MS, singleShot=True)
        self._soon.timeout.connect(self._find)
        self.search.textEdited.connect(lambda _text: self._soon.start())
        self.search.returnPressed.connect(self._find)
        self.text = GuideText()
        self.text.setObjectName("guide_text")
        self.text.setAccessibleName(self.tr("Guide"))
        self.text.setOpenLinks(False)
        self.text.setOpenExternalLinks(False)
        self.text.anchorClicked.connect(lambda url: self.show_page(url.toString()))
        self.text.installEventFilter(self)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(6)
        head = row(self.contents, self.earlier, self.later, self.search)
        head.setStretch(3, 1)
        lines.addLayout(head)
        lines.addWidget(self.text, 1)

    # ---- pages

    @property
    def shown(self) -> str:
        """What is on screen: ``contents:``, ``chapter:name`` or ``search:words``."""
        return self._shown

    def show_contents(self) -> None:
        """Show the contents."""
        self.search.clear()
        self.show_page("contents:")

    def show_page(self, link: str) -> None:
        """Show a page by its link; ``chapter:name/2`` goes to the second heading."""
        kind, _, what = link.partition(":")
        name, _, number = what.partition("/")
        if kind == "chapter":
            try:
                text, inside = chapter(name).text, headings(chapter(name))
            except KeyError:
                return
            self._shown = f"chapter:{name}"
            self._set(text)
            at = int(number) if number.isdigit() else 0
            if 0 < at <= len(inside):
                self._scroll_to(inside[at - 1])
            return
        self._shown = link
        self._set(found_text(what) if kind == "search" else contents())

    def _set(self, markdown: str) -> None:
        self.text.setMarkdown(markdown)
        self._polish(links_px=10 if self._shown.startswith("contents") else 0)
        self.text.moveCursor(QTextCursor.MoveOperation.Start)

    def _polish(self, *, links_px: int) -> None:
        """Give headings, links and key names the letters and colours of the window.

        ``links_px`` is the room around a line that is nothing but a link, for fingers.
        """
        document = self.text.document()
        size = max(17, self.text.font().pixelSize())
        block = document.begin()
        while block.isValid():
            level = block.blockFormat().headingLevel()
            shape = block.blockFormat()
            shape.setTopMargin(14 if level else max(4, links_px))
            shape.setBottomMargin(6 if level else max(4, links_px))
            cursor = QTextCursor(block)
            cursor.setBlockFormat(shape)
            for place in self._fragments(block):
                letters = place.charFormat()
                font = letters.font()
                is_key = letters.fontFixedPitch()
                font.setFamilies([FAMILY])
                font.setFixedPitch(False)
                font.setPixelSize(round(size * {1: 1.5, 2: 1.2}.get(level, 1.0)))
                font.setBold(font.bold() or is_key or bool(level))
                letters.setFont(font)
                if letters.isAnchor() and self._link is not None:
                    letters.setForeground(self._link)
                    letters.setFontUnderline(True)
                cursor.setPosition(place.position())
                cursor.setPosition(
                    place.position() + place.length(), QTextCursor.MoveMode.KeepAnchor
                )
                if not letters.isImageFormat():
                    cursor.setCharFormat(letters)
            block = block.next()

    @staticmethod
    def _fragments(block: QTextBlock) -> list[QTextFragment]:
        made = []
        pieces = block.begin()
        while not pieces.atEnd():
            made.append(pieces.fragment())
            pieces += 1
        return made

    def _scroll_to(self, heading: str) -> None:
        found = self.text.document().find(heading)
        if not found.isNull():
            self.text.setTextCursor(found)
            bar = self.text.verticalScrollBar()
            bar.setValue(bar.value() + self.text.cursorRect(found).top() - 8)
            found.clearSelection()
            self.text.setTextCursor(found)

    def _step(self, by: int) -> None:
        keys = ["contents:", *(f"chapter:{one.key}" for one in chapters())]
        at = keys.index(self._shown) if self._shown in keys else 0
        self.search.clear()
        self.show_page(keys[max(0, min(len(keys) - 1, at + by))])

    def _find(self) -> None:
        self._soon.stop()
        words = self.search.text().strip()
        self.show_page(f"search:{words}" if words else "contents:")

    # ---- look

    def set_look(self, theme: Theme, _sizes: Sizes) -> None:
        """Take the theme: links and text in its colours."""
        self.text.setStyleSheet(
            f"QTextBrowser {{ background: {theme.card}; color: {theme.ink}; "
            f"border: {theme.line_px}px solid {theme.line}; padding: 4px; }}"
            f"QTextBrowser:focus {{ border: 4px solid {theme.accent}; padding: 1px; }}"
        )
        self._link = QColor(theme.accent)
        self.show_page(self._shown)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.oldSize().width() != event.size().width():
            bar = self.text.verticalScrollBar()
            at = bar.value()
            self.show_page(self._shown)
            bar.setValue(at)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the link at the cursor with Enter; without one the key goes to the window."""
        if (
            watched is self.text
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
            and not self.text.textCursor().charFormat().anchorHref()
        ):
            event.ignore()
            return False
        return super().eventFilter(watched, event)
