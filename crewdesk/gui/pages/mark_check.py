"""The officials' check of marks: what they should read, what they noted, and the query."""

from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, clear, column, label, row, scrolling, text_field
from crewdesk.gui.session import Session
from crewdesk.gui.texts import LONG, SHORT, clock
from crewdesk.gui.when import typed_time
from crewdesk.journal.entries import Answer, MarkCheck
from crewdesk.units import PLACES, Place

if TYPE_CHECKING:
    from crewdesk.desk.tyre_card import Expected


class MarkCheckPage(Page):
    """Officials read marks; a scan into a field counts like typing."""

    key = "mark_check"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label("", "mark_title", "title", wrap=True)
        self.count = label("", "mark_count", "strong", wrap=True)
        grid = QGridLayout()
        grid.setSpacing(6)
        self._fields: dict[Place, QLineEdit] = {}
        self._ours: dict[Place, QLabel] = {}
        for at, p in enumerate(PLACES):
            field = text_field(f"mark_{p}", self.tr("{0}, mark as noted").format(LONG[p]))
            field.setPlaceholderText(self.tr("mark as noted"))
            self._fields[p] = field
            self._ours[p] = label("", f"mark_was_{p}")
            self._ours[p].setMinimumWidth(250)
            same = button(
                self.tr("As ours"),
                f"mark_same_{p}",
                partial(self._same, p),
                spoken=self.tr("{0}, mark as ours").format(LONG[p]),
            )
            grid.addWidget(label(SHORT[p], f"mark_label_{p}", "strong"), at, 0)
            grid.addWidget(self._ours[p], at, 1)
            grid.addWidget(field, at, 2)
            grid.addWidget(same, at, 3)
        grid.setColumnStretch(2, 1)
        self.official = text_field(
            "mark_official", self.tr("Official"), self.tr("official, number")
        )
        self.photo = text_field("mark_photo", self.tr("Photo"), self.tr("photo"))
        self.query_by = text_field(
            "mark_query_by", self.tr("Answer wanted by"), self.tr("by hh:mm")
        )
        self.all = button(self.tr("All as ours"), "mark_all", self._all)
        inside = QWidget()
        self._queries = QVBoxLayout()
        self._queries.setSpacing(6)
        inside.setLayout(
            column(
                grid,
                row(self.official, self.photo, self.query_by, self.all),
                self._queries,
                1,
            )
        )
        self.setLayout(column(self.title, self.count, scrolling("mark_form", inside)))

    def heading(self) -> str:
        return self.tr("Tyre check")

    def primary_text(self) -> str:
        return self.tr("Enter the check")

    # ---- showing

    def _expected(self) -> "dict[Place, Expected]":
        from crewdesk.desk.tyre_card import expected_at_check

        return {one.place: one for one in expected_at_check(self.session.state)}

    def refresh(self) -> None:
        if not self.session.is_open:
            return
        session = self.session
        ours = self._expected()
        new = [one.tyre_id for one in ours.values() if one.new_count]
        self.title.setText(
            self.tr("Marks expected at the next tyre check: {0}").format(len(ours))
        )
        counts = session.counters()
        limit = counts.get("limit")
        of = self.tr(" of {0}").format(limit) if limit is not None else ""
        said = self.tr("{0}{1} counted by now").format(counts.get("used", 0), of)
        if new:
            said += self.tr("; counted for the first time: {0}").format(", ".join(new))
        self.count.setText(said)
        for p in PLACES:
            one = ours.get(p)
            text = "–"
            if one is not None:
                text = f"{one.tyre_id}  {one.mark or self.tr('no mark')}"
                text += self.tr("  new") if one.new_count else ""
            self._ours[p].setText(text)
        clear(self._queries)
        for at, question in enumerate(session.state.open_questions):
            if "noted" not in question.fields:
                continue
            line = row(
                label(
                    self.tr("⚠ watch: {0} {1}").format(
                        clock(question.since, session.zone), question.text
                    ),
                    f"mark_query_{at}",
                    "watch",
                    wrap=True,
                ),
                button(
                    self.tr("Officials put\nit right"),
                    f"mark_right_{at}",
                    partial(self._put_right, question.id),
                    kind="part",
                ),
            )
            line.setStretch(0, 1)
            self._queries.addLayout(line)

    # ---- entering

    def _same(self, place: Place) -> None:
        one = self._expected().get(place)
        if one is not None:
            self._fields[place].setText(one.mark)

    def _all(self) -> None:
        for place in PLACES:
            if not self._fields[place].text().strip():
                self._same(place)

    def _put_right(self, question_id: str) -> None:
        """Enter that the officials have put their note right: it is as ours now."""
        day = self.session.day
        if day is None:
            return
        body = next((e.body for e in day.entries if e.id == question_id), None)
        if not isinstance(body, MarkCheck):
            return
        then = {one.place: one.mark for one in self._expected().values()}
        question = next(q for q in self.session.state.open_questions if q.id == question_id)
        ours = dict(text.split(" ", 1) for text in question.possible)
        noted = {p: ours.get(p, then.get(p, mark)) for p, mark in body.noted.items()}
        self.session.enter(
            Answer(question_id=question_id, values={"noted": noted}),
            self.tr("officials put their note right"),
        )

    def primary(self) -> None:
        session = self.session
        if not session.is_open:
            self.go.emit("load")
            return
        noted = {p: f.text().strip() for p, f in self._fields.items() if f.text().strip()}
        if not noted:
            session.notice("note", self.tr("Type the marks as the officials noted them."))
            return
        by: datetime | None = None
        try:
            by = typed_time(self.query_by.text(), session.now(), session.zone)
        except ValueError:
            session.notice("note", self.tr("Type the time as hh:mm."))
            self.query_by.setFocus()
            return
        place = session.place
        body = MarkCheck(
            place=place.key if place is not None else "",
            noted=noted,
            official=self.official.text().strip(),
            photo=self.photo.text().strip(),
            query_by=by,
        )
        receipt = session.enter(body, self.tr("marks checked"))
        if receipt is not None and receipt.accepted:
            for field in (*self._fields.values(), self.photo, self.query_by):
                field.clear()
            if not any("noted" in q.fields for q in session.state.open_questions):
                self.go.emit("back")
