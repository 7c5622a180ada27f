"""Every caution in one place, by what one is about to do."""

from typing import TYPE_CHECKING, Final

from crewdesk.gui.caution_lines import caution_texts
from crewdesk.gui.page import Page
from crewdesk.gui.parts import Choice, card, clear, column, label, lines_in
from crewdesk.gui.session import Session

if TYPE_CHECKING:
    from crewdesk.desk.cautions import Where

WHERE: "Final[tuple[tuple[Where, ...], ...]]" = (
    ("car_in", "sheet", "pressures", "mounting", "torque"),
    ("damage", "stock", "card", "call"),
)


BELONGS: "Final[dict[str, Where]]" = {
    "call": "call",
    "conditions": "call",
    "car_in": "car_in",
    "fit": "pressures",
    "out": "torque",
    "damage": "damage",
    "incident": "damage",
    "left_behind": "damage",
    "find": "damage",
    "wheels_plan": "mounting",
    "stock": "stock",
    "loop": "card",
    "moved": "card",
}
"""Which cautions belong to a page; any other: those at the car."""


class CautionsPage(Page):
    """What is said for the crew's own good, with where it comes from."""

    key = "cautions"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        names = {
            "car_in": self.tr("Car in"),
            "sheet": self.tr("At the car"),
            "pressures": self.tr("Pressures"),
            "mounting": self.tr("Mounting"),
            "torque": self.tr("Wheel nuts"),
            "damage": self.tr("Damage"),
            "stock": self.tr("Keeping tyres"),
            "card": self.tr("On the road"),
            "call": self.tr("The call"),
        }
        self._where: Where = "sheet"
        self.choices = [
            Choice(
                f"cautions_{at}", [(names[one], one) for one in line], self._take, kind="part"
            )
            for at, line in enumerate(WHERE)
        ]
        self._lines, area = lines_in("cautions_lines")
        self.setLayout(
            column(
                label(self.tr("Cautions"), "cautions_title", "title"),
                *self.choices,
                area,
            )
        )

    def heading(self) -> str:
        return self.tr("Cautions")

    def primary_text(self) -> str:
        return self.tr("Back")

    def primary(self) -> None:
        self.go.emit("back")

    def show_for(self, where: "Where") -> None:
        """Show the cautions of one place."""
        self._where = where
        self.refresh()

    def come_from(self, page: str) -> None:
        """Begin with the cautions of the page one comes from."""
        self._where = BELONGS.get(page, "sheet")

    def _take(self, value: object) -> None:
        for line in WHERE:
            for one in line:
                if one == value:
                    self.show_for(one)

    def refresh(self) -> None:
        for choice in self.choices:
            choice.set_value(self._where)
        clear(self._lines)
        from crewdesk.desk.cautions import all_cautions

        texts = caution_texts(self.session, self._where)
        said = [one for one in all_cautions() if self._where in one.where]
        for at, (text, one) in enumerate(zip(texts, said, strict=True)):
            self._lines.addWidget(
                card(
                    f"caution_{at}",
                    label(text, f"caution_text_{at}", wrap=True),
                    label(one.source, f"caution_source_{at}", "muted", wrap=True),
                )
            )
        self._lines.addStretch(1)
