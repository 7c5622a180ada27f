"""The rules in force, line by line: look, change one with its source, copy the set."""

from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QGridLayout, QTableView, QWidget

from crewdesk.errors import CrewdeskError
from crewdesk.gui.page import Page
from crewdesk.gui.pages.change_paper import Paper
from crewdesk.gui.pages.rules_set import SetStrip
from crewdesk.gui.pages.rules_table import COLUMNS, OWN, RulesTable, source_words
from crewdesk.gui.parts import Choice, button, clear, column, label, row, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.tables import hide_empty, row_table, set_sizes
from crewdesk.gui.theme import Sizes, Theme

if TYPE_CHECKING:
    from crewdesk.desk.regulation_edit import RuleLine

ROW_PX: Final = 48
GROUPS: Final = (
    "How many",
    "List and marks",
    "Places",
    "Spares and axles",
    "Tread and pattern",
    "Tyre and road",
    "Time",
    "Event",
)
CHANGED: Final = "changed"


def _group(word: str) -> str:
    return QCoreApplication.translate("RulesPage", word)


class RulesPage(Page):
    """Every line with its value, source, article, bulletin, and who entered it."""

    key = "rules"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._lines: tuple[RuleLine, ...] = ()
        self._line: RuleLine | None = None
        self._setting = False
        self.title = label("", "rules_title", "title", wrap=True)
        self.copy = button(self.tr("Set of rules"), "rules_set", self._sets, checkable=True)
        self.bulletins = button(
            self.tr("Bulletins"), "rules_bulletins", partial(self.go.emit, "change")
        )
        self.say = button(
            self.tr("What they say"), "rules_say", partial(self.go.emit, "rules_say")
        )
        head = row(self.title, self.copy, self.say, self.bulletins)
        head.setStretch(0, 1)
        self._groups: list[Choice] = []
        self._group = GROUPS[0]
        names = [*GROUPS, CHANGED]
        words = {CHANGED: self.tr("Changed for us")}
        for at in (0, 3, 6):
            self._groups.append(
                Choice(
                    f"rules_group_{at // 3}",
                    [(words.get(name, _group(name)), name) for name in names[at : at + 3]],
                    self._took_group,
                    kind="part",
                )
            )
        self._group_box = QWidget()
        self._group_lines = QGridLayout(self._group_box)
        self._group_lines.setContentsMargins(0, 0, 0, 0)
        self._group_lines.setSpacing(6)
        self.model = RulesTable()
        self.table = self._make_table()
        self.words = label("", "rules_words", "muted", wrap=True)
        self.edit = self._make_edit()
        self.sets = SetStrip(session)
        self.sets.hide()
        page = column(
            head, self._group_box, self.table, self.words, self.edit, self.sets, spacing=6
        )
        page.setStretch(2, 1)
        self.setLayout(page)
        self._lay(stacked=False)

    def _make_table(self) -> QTableView:
        table = row_table("rules_table", self.tr("Rules in force"), self.model, ROW_PX)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        table.setMinimumHeight(2 * ROW_PX)
        table.clicked.connect(lambda _index: self.row_action())
        return table

    def _make_edit(self) -> QWidget:
        box = QWidget()
        box.setObjectName("rules_edit")
        self.what = label("", "rules_what", "strong", wrap=True)
        self.takes = label("", "rules_takes", "muted", wrap=True)
        self.value = text_field("rules_value", self.tr("New value"))
        self._choice: Choice | None = None
        self._value_line = row(self.value)
        self.blank = button(self.tr("Not checked"), "rules_blank", self._not_checked)
        self.paper = Paper("rules", self.session)
        line = row(self._value_line, self.blank)
        line.setStretch(0, 1)
        box.setLayout(column(self.what, self.takes, line, self.paper, spacing=4))
        box.hide()
        return box

    def heading(self) -> str:
        return self.tr("Rules")

    def primary_text(self) -> str:
        if self._line is not None:
            return self.tr("Enter the change")
        return self.sets.primary_text() if self._setting else self.tr("Back")

    def entered(self) -> None:
        if not self.table.currentIndex().isValid() and self.model.rowCount():
            self.table.setCurrentIndex(self.model.index(0, 0))
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def left(self) -> None:
        super().left()
        self._close()

    def escape(self) -> bool:
        if self._line is None and not self._setting:
            return False
        self._close()
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    # ---- showing

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        from crewdesk.desk.rule_cells import cells_in_force

        bundle = self.session.bundle
        self._lines = cells_in_force(bundle)
        own = sum(line.own for line in self._lines)
        self.title.setText(
            self.tr("Rules in force: {0}, {1} changed").format(bundle.regulation_set.name, own)
        )
        self.words.setText(
            self.tr(
                "Enter or a tap on a line changes it. What is checked is what is entered here; "
                "the event's own papers decide."
            )
        )
        self._show_group()
        self.primary_changed.emit()

    def _took_group(self, value: object) -> None:
        self._group = str(value)
        self._close()
        self._show_group()

    def _show_group(self) -> None:
        for choice in self._groups:
            choice.set_value(self._group)
        if self._group == CHANGED:
            shown = tuple(line for line in self._lines if line.own)
        else:
            shown = tuple(line for line in self._lines if line.group == self._group)
        at = self.table.currentIndex().row()
        self.model.show_lines(shown, self.session.zone)
        hide_empty(self.table, self.model, OWN)
        if shown:
            self.table.setCurrentIndex(self.model.index(min(max(at, 0), len(shown) - 1), 0))

    # ---- one line

    def start_with(self, name: str) -> None:
        """Begin with one line, as ``qty_total``."""
        self.refresh()
        line = next((one for one in self._lines if one.name == name), None)
        if line is None:
            return
        self._group = line.group
        self._show_group()
        self.table.setCurrentIndex(self.model.index(self.model.row_of(name), 0))
        self.row_action()

    def row_action(self) -> bool:
        line = self.model.line(self.table.currentIndex().row())
        if line is None:
            return False
        from crewdesk.desk.rule_cells import TOLD_HERE, choices_of, text_of

        if line.name in TOLD_HERE:
            self.session.notice(
                "note", self.tr("Read only: the itinerary and the start order hold it.")
            )
            return True
        self._close()
        self._line = line
        self.what.setText(self.tr("{0}, now {1}").format(line.words, line.shown))
        self.takes.setText(self._takes_words(line))
        clear(self._value_line)
        options = choices_of(line.name)
        self._choice = None
        if options:
            self._choice = Choice("rules_choice", list(options), lambda _v: None)
            self._choice.set_value(line.value)
            self._value_line.addWidget(self._choice)
        else:
            self.value = text_field("rules_value", self.tr("New value"))
            self.value.setText(text_of(line, self.session.bundle.event.car_class))
            self._value_line.addWidget(self.value)
        self.blank.setVisible(not isinstance(line.value, bool))
        self.edit.show()
        self._group_box.hide()
        self.words.hide()
        made: list[QWidget] = [self.value]
        if self._choice is not None:
            made = [one for one, _ in self._choice.buttons]
        # Made just now, it would come last under Tab.
        chain = [self.table, *made, self.blank]
        for before, after in pairwise(chain):
            QWidget.setTabOrder(before, after)
        made[0].setFocus(Qt.FocusReason.OtherFocusReason)
        if self._choice is None:
            self.value.selectAll()
        self.primary_changed.emit()
        return True

    def _takes_words(self, line: "RuleLine") -> str:
        takes = self.tr("bar") if line.unit == "kPa" else line.takes
        return self.tr("Takes {0}. Until now: {1}").format(takes, source_words(line))

    def _close(self) -> None:
        self._line, self._setting = None, False
        self.copy.setChecked(False)
        self.edit.hide()
        self.sets.hide()
        self._group_box.show()
        self.words.show()
        self.primary_changed.emit()

    def _not_checked(self) -> None:
        if self._choice is not None:
            self._choice.set_value(None)
        else:
            self.value.clear()

    def primary(self) -> None:
        if self._setting:
            if self.sets.take():
                self._close()
                self.refresh()
                self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self._line is not None:
            self._change(self._line)
        else:
            self.go.emit("back")

    def _typed(self, line: "RuleLine") -> Any:
        from crewdesk.desk.rule_cells import typed_value

        if self._choice is not None:
            return self._choice.value
        return typed_value(line.name, self.value.text())

    def _change(self, line: "RuleLine") -> None:
        from crewdesk.desk.regulation_edit import line_entry

        paper = self.paper.read()
        if paper is None:
            return
        if not (paper.source or paper.bulletin_no):
            self.session.notice(
                "note", self.tr("Type where it is printed: a bulletin number or a paper.")
            )
            self.paper.fields["bulletin"].setFocus()
            return
        try:
            body = line_entry(
                line.name,
                self._typed(line),
                source=paper.source,
                article=paper.article,
                bulletin_no=paper.bulletin_no,
                valid_from=paper.valid_from,
                by=paper.by,
            )
        except CrewdeskError as error:
            self.session.notice("stops", f"{error.message} {error.hint}".strip())
            return
        receipt = self.session.enter(body, self.tr("rule changed: {0}").format(line.words))
        if receipt is not None and receipt.accepted:
            self.paper.forget()
            self._close()
            self.refresh()
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    # ---- sets

    def _sets(self) -> None:
        wanted = self.copy.isChecked()
        self._close()
        self._setting = wanted
        self.copy.setChecked(wanted)
        self.sets.setVisible(wanted)
        self._group_box.setVisible(not wanted)
        if wanted:
            self.sets.refresh()
        self.primary_changed.emit()

    def set_look(self, _theme: Theme, sizes: Sizes) -> None:
        set_sizes(self.table, ROW_PX, (width for _, width in COLUMNS), sizes)
        self._lay(stacked=sizes.compact)
        self.paper.set_stacked(stacked=sizes.compact)

    def _lay(self, *, stacked: bool) -> None:
        """Put the groups into one line, on a narrow screen into three."""
        for choice in self._groups:
            self._group_lines.removeWidget(choice)
        for at, choice in enumerate(self._groups):
            self._group_lines.addWidget(choice, at if stacked else 0, 0 if stacked else at)
