"""The colours, sizes and the style sheet; no colour stands anywhere else."""

from dataclasses import dataclass, fields
from string import Template
from typing import Final, Literal

from PySide6.QtGui import QColor, QFontDatabase, QPalette

ThemeName = Literal["light", "sunlight", "dark"]
THEME_ORDER: Final[tuple[ThemeName, ...]] = ("light", "sunlight", "dark")
"""The order in which the view button steps through them."""

FAMILY: Final = "DejaVu Sans"


@dataclass(frozen=True)
class Theme:
    """One set of named colours; text on its ground is at least 7:1."""

    name: ThemeName
    bg: str
    card: str
    ink: str
    muted: str
    line: str
    line_px: int
    accent: str
    accent_ink: str
    ok: str
    watch_fill: str
    watch_ink: str
    watch_px: int
    stops_fill: str
    stops_ink: str
    tile: str
    """Ground behind a badge; empty where the card itself serves."""
    plain_badges: bool
    """Black and white only: shape and code carry the compound."""


THEMES: Final[dict[ThemeName, Theme]] = {
    "light": Theme(
        name="light",
        bg="#F3F3EF",
        card="#FFFFFF",
        ink="#111111",
        muted="#3F3F3F",
        line="#6E6E6E",
        line_px=1,
        accent="#0B3D91",
        accent_ink="#FFFFFF",
        ok="#0B5226",
        watch_fill="#FFC247",
        watch_ink="#111111",
        watch_px=1,
        stops_fill="#8A0F0F",
        stops_ink="#FFFFFF",
        tile="",
        plain_badges=False,
    ),
    "sunlight": Theme(
        name="sunlight",
        bg="#FFFFFF",
        card="#FFFFFF",
        ink="#000000",
        muted="#000000",
        line="#000000",
        line_px=2,
        accent="#000000",
        accent_ink="#FFFFFF",
        ok="#000000",
        watch_fill="#FFFFFF",
        watch_ink="#000000",
        watch_px=4,
        stops_fill="#000000",
        stops_ink="#FFFFFF",
        tile="",
        plain_badges=True,
    ),
    "dark": Theme(
        name="dark",
        bg="#0F1419",
        card="#1A2128",
        ink="#F4F4F4",
        muted="#C6CDD5",
        line="#8B96A1",
        line_px=1,
        accent="#8FBBFF",
        accent_ink="#0A0F14",
        ok="#86E0A0",
        watch_fill="#FFC247",
        watch_ink="#111111",
        watch_px=1,
        stops_fill="#FF9F8A",
        stops_ink="#111111",
        tile="#F4F4F4",
        plain_badges=False,
    ),
}

BadgeSlot = Literal["dry1", "dry2", "dry3", "dry4", "rain1", "rain2", "winter"]


@dataclass(frozen=True)
class BadgeLook:
    """Fill and code colour of one badge; its shape is drawn by ``badge``."""

    fill: str
    code: str
    dark_fill: bool
    """Drawn black with a white code where only black and white serve."""
    outline: bool = True


BADGES: Final[dict[BadgeSlot, BadgeLook]] = {
    "dry1": BadgeLook("#332288", "#FFFFFF", dark_fill=True),
    "dry2": BadgeLook("#7A430A", "#FFFFFF", dark_fill=True),
    "dry3": BadgeLook("#0F6B5C", "#FFFFFF", dark_fill=True, outline=False),
    "dry4": BadgeLook("#9A9A9A", "#000000", dark_fill=True),
    "rain1": BadgeLook("#E69F00", "#000000", dark_fill=False),
    "rain2": BadgeLook("#000000", "#FFFFFF", dark_fill=False),
    "winter": BadgeLook("#56B4E9", "#000000", dark_fill=False),
}
BLACK: Final = "#000000"
WHITE: Final = "#FFFFFF"


@dataclass(frozen=True)
class Sizes:
    """Every size of the window in logical pixels, text and targets apart."""

    touch: float = 1.0
    """Touch size setting: multiplies the targets."""
    text: float = 1.0
    """1.18 on a wide screen."""
    compact: bool = False

    def target(self, px: float) -> int:
        """Return a target or a panel scaled by the touch size."""
        return round(px * self.touch)

    def letter(self, px: float) -> int:
        """Return a letter size; nothing goes under 17 px."""
        return max(17, round(px * self.text))


class _SheetTemplate(Template):
    """``@name`` marks a token; an unknown one raises KeyError."""

    delimiter = "@"


def sheet_text(theme: Theme, sizes: Sizes) -> str:
    """Return the style sheet of a theme at the given sizes."""
    tokens: dict[str, object] = {f.name: getattr(theme, f.name) for f in fields(theme)}
    edge = 5
    for name, px in (("touch", 56), ("primary", 64), ("key", 84)):
        tokens[f"min_{name}"] = sizes.target(px) - 2 * edge
    tokens["pad"] = edge - theme.line_px
    tokens["pad_side"] = 11 - theme.line_px
    tokens["mark_pad"] = edge - theme.watch_px
    tokens["family"] = FAMILY
    compact = sizes.compact
    for name, px in (
        ("body", 17),
        ("strong", 19),
        ("value", 21 if compact else 24),
        ("headline", 26 if compact else 30),
        ("clock", 42),
        ("big", 30),
    ):
        tokens[f"t_{name}"] = sizes.letter(px)
    from crewdesk.assets import shipped

    source = shipped("resources").joinpath("style.qss").read_text(encoding="utf-8")
    return _SheetTemplate(source).substitute(tokens)


def palette(theme: Theme) -> QPalette:
    """Return the palette for what the style sheet does not reach."""
    made = QPalette()
    role = QPalette.ColorRole
    for where, value in (
        (role.Window, theme.bg),
        (role.Base, theme.card),
        (role.AlternateBase, theme.bg),
        (role.Button, theme.card),
        (role.WindowText, theme.ink),
        (role.Text, theme.ink),
        (role.ButtonText, theme.ink),
        (role.PlaceholderText, theme.muted),
        (role.Highlight, theme.accent),
        (role.HighlightedText, theme.accent_ink),
        (role.ToolTipBase, theme.card),
        (role.ToolTipText, theme.ink),
    ):
        made.setColor(where, QColor(value))
    return made


def load_fonts() -> list[str]:
    """Load the shipped letters, so that widths are the same on every machine."""
    from crewdesk.assets import shipped

    families: list[str] = []
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"):
        data = shipped("resources").joinpath("fonts", name).read_bytes()
        number = QFontDatabase.addApplicationFontFromData(data)
        families += QFontDatabase.applicationFontFamilies(number) if number >= 0 else []
    return families
