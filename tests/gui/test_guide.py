"""The user guide: shown under F1, searchable, with its pictures, in the crew's words."""

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QTextCursor, QTextDocument

from crewdesk.assets import shipped
from crewdesk.gui.keys import KEYS, TYPED
from crewdesk.gui.pages.guide_text import chapter, chapters, contents, find, headings
from crewdesk.gui.theme import THEMES, Sizes

GUIDE = Path(str(shipped("resources").joinpath("guide")))
PICTURES = Path(str(shipped("resources").joinpath("pictures")))
ROOT = Path(__file__).resolve().parents[2]
PICTURE = re.compile(r"!\[([^\]]+)\]\(([^)]+)\)")
NEVER = re.compile(
    r"\b(gaps?|bounds?|seeds?|scenarios?|priors?|posteriors?|objectives?|sigmas?|quantiles?"
    r"|parameters?|constraints?|infeasible|solvers?|legal|safe|invalid|database|server|API"
    r"|backend|config|cache|thread|exception|regex|default value)\b",
    re.IGNORECASE,
)


@pytest.fixture
def guide(shared_window):
    shared_window.go("help")
    view = shared_window.page.guide
    view.show_contents()
    return view


@pytest.mark.parametrize("one", chapters(), ids=lambda one: one.key)
def test_a_chapter_is_written_for_the_crew(one):
    assert not NEVER.findall(one.text)
    assert headings(one) or one.key.endswith("cautions")
    # Short: a chapter is read while something else is going on.
    assert len(one.text.split()) < 900


def test_every_subject_has_its_chapter():
    titles = " ".join(one.title.lower() for one in chapters())
    for words in ("ten minutes", "on the clock", "come from", "rules", "wrong", "cautions"):
        assert words in titles


@pytest.mark.parametrize("one", chapters(), ids=lambda one: one.key)
def test_every_key_named_in_the_guide_is_a_key(one):
    known = {key.shown for key in KEYS} | {key.keys for key in KEYS}
    known |= {sign for signs, _ in TYPED for sign in re.split(r"[, ]+", signs)} | {"Enter"}
    named = re.findall(r"`((?:Shift\+)?F\d+|Ctrl\+\w+|Enter|Tab|[*/-])`", one.text)
    assert not set(named) - known


def test_every_control_named_in_the_guide_is_in_the_window():
    shown = " ".join(
        " ".join(re.findall(r'"((?:[^"\\]|\\.)*)"', path.read_text(encoding="utf-8")))
        for path in sorted((ROOT / "crewdesk" / "gui").rglob("*.py"))
    ).replace("\\n", " ")
    for one in chapters():
        # Words in bold that end with a point head a paragraph or stress a sentence.
        bold = re.findall(r"\*\*([A-Z][^*]+?)\*\*", one.text)
        assert not [words for words in bold if words[-1] != "." and words not in shown]


def test_every_picture_named_is_there_and_small():
    texts = [one.text for one in chapters()]
    texts.append((ROOT / "README.md").read_text(encoding="utf-8"))
    named = {Path(path).name: words for text in texts for words, path in PICTURE.findall(text)}
    assert len(named) >= 6
    for name, words in named.items():
        assert (PICTURES / name).is_file(), name
        assert len(words.split()) >= 4, "a picture says in words what it shows"
    for path in PICTURES.iterdir():
        assert path.name in named, f"{path.name} is shown nowhere"
        assert path.stat().st_size < 200_000
        assert QImage(str(path)).depth() == 8


def test_the_script_makes_every_picture_that_is_shown():
    from crewdesk.gui.pictures import NAMES

    assert {path.stem for path in PICTURES.iterdir()} == set(NAMES)


def test_f1_shows_the_guide_beside_the_keys(guide, shared_window):
    assert shared_window.page.key == "help"
    assert guide.isVisible()
    shown = guide.text.toPlainText()
    for one in chapters():
        assert one.title in shown


def test_links_of_the_contents_lead_to_their_headings(guide):
    for one in chapters():
        for number, heading in enumerate(headings(one), start=1):
            assert f"(chapter:{one.key}/{number})" in contents()
            guide.show_page(f"chapter:{one.key}/{number}")
            assert heading in guide.text.toPlainText()
    guide.show_page("chapter:nowhere")
    assert guide.shown.startswith("chapter:")


def test_search_finds_a_place_and_goes_there(guide, qtbot):
    qtbot.keyClicks(guide.search, "hot pressures")
    qtbot.keyClick(guide.search, Qt.Key.Key_Return)
    assert "A service with ten minutes on the clock: Car in" in guide.text.toPlainText()
    links = hrefs(guide.text.document())
    target = next(link for link in links if link.startswith("chapter:2_service/"))
    guide.show_page(target)
    assert guide.shown == "chapter:2_service"


def hrefs(document: QTextDocument) -> set[str]:
    cursor, found = QTextCursor(document), set()
    while not cursor.atEnd():
        cursor.movePosition(QTextCursor.MoveOperation.NextCharacter)
        found |= {cursor.charFormat().anchorHref()}
    return found - {""}


@pytest.mark.parametrize("words", ["", "   ", "zzz", "*", "[", "`", "cold FLOOR"])
def test_any_search_is_answered(guide, words):
    guide.search.setText(words)
    guide._find()
    assert guide.text.toPlainText().strip()


def test_search_takes_words_in_any_case_and_skips_the_marks():
    assert find("EDGES sharp")
    assert {place.chapter for place in find("ten minutes")} >= {"2_service"}
    assert not find("png")
    assert not find("")


def test_next_and_back_walk_through_all_chapters(guide):
    seen = [guide.shown]
    for _ in chapters():
        guide.later.click()
        seen.append(guide.shown)
    assert seen == ["contents:", *(f"chapter:{one.key}" for one in chapters())]
    guide.later.click()
    assert guide.shown == seen[-1]
    guide.earlier.click()
    assert guide.shown == seen[-2]


@pytest.mark.parametrize("name", list(THEMES))
def test_links_have_the_colour_of_the_theme_and_a_line(guide, name):
    guide.set_look(THEMES[name], Sizes())
    guide.show_contents()
    cursor = QTextCursor(guide.text.document().find(chapters()[0].title))
    letters = cursor.charFormat()
    assert letters.isAnchor()
    assert letters.fontUnderline()
    assert letters.foreground().color().name().upper() == THEMES[name].accent
    assert letters.font().pixelSize() >= 17


def test_a_picture_is_no_wider_than_the_view(guide):
    image = guide.text.loadResource(
        QTextDocument.ResourceType.ImageResource.value, "pictures/call.png"
    )
    assert 200 < image.width() <= guide.text.viewport().width()
    kind = QTextDocument.ResourceType.ImageResource.value
    assert guide.text.loadResource(kind, "pictures/nowhere.png").isNull()
    assert guide.text.loadResource(kind, "https://example.org/x.png") is None


def test_what_the_guide_says_of_keys_and_codes_is_so():
    codes = set(re.findall(r"^\| ([A-Z, ]+) \|", chapter("4_rules").text, re.MULTILINE))
    named = {code.strip() for group in codes for code in group.split(",")}
    written = set()
    for path in sorted((ROOT / "crewdesk").rglob("*.py")):
        written |= set(re.findall(r'"([A-Z]{3,4})-\d"', path.read_text(encoding="utf-8")))
    assert named == written
