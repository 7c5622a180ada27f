"""What the window prints: one page each, with every word that must be on it."""

import re
import zlib
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from uuid import UUID

import pytest
from PySide6.QtGui import QImage, QPainter
from PySide6.QtPrintSupport import QPrinter

from crewdesk.desk.sheet import (
    CardLine,
    FitLine,
    PickLine,
    PressureLine,
    Sheet,
    TorqueLine,
)
from crewdesk.desk.wheels_plan import Mount, VanList
from crewdesk.documents.handover import (
    CallMade,
    Counts,
    ForecastSeen,
    Handover,
    HandoverRim,
    HandoverTyre,
    PressureKept,
    RunAt,
    WearFigure,
)
from crewdesk.gui.paper.handover_pdf import (
    counts_words,
    draw_handover,
    tyre_cells,
    word_blocks,
    write_handover_pdf,
)
from crewdesk.gui.paper.page import HEIGHT_MM, WIDTH_MM, Page
from crewdesk.gui.paper.sheet_pdf import draw_sheet, print_sheet, write_sheet_pdf
from crewdesk.units import PLACES


def pages_in(path: Path) -> int:
    data = path.read_bytes()
    assert data.startswith(b"%PDF-")
    return len(re.findall(rb"/Type\s*/Page\b", data))


def size_mm(path: Path) -> tuple[float, float]:
    """Return the size of the page, from its own box in points of 1/72 inch (ISO 32000-1)."""
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([0-9.]+) ([0-9.]+)", path.read_bytes())
    assert box
    return float(box[1]) * 25.4 / 72, float(box[2]) * 25.4 / 72


class Recorder(Page):
    """A page that remembers what was written where, and checks that it lies on the paper."""

    def __init__(self, painter: QPainter, dots_per_mm: float) -> None:
        super().__init__(painter, dots_per_mm)
        self.words: list[str] = []
        self.lowest_above_card = 0.0

    def text(self, left, base, words, size_pt, **ways):
        advance = super().text(left, base, words, size_pt, **ways)
        start = {"right": left - advance, "centre": left - advance / 2}.get(
            ways.get("align", "left"), left
        )
        assert start >= 5.0, words
        assert start + advance <= WIDTH_MM - 5.0, words
        assert base <= HEIGHT_MM - 4.0, words
        if "cut here" not in self.words and words != "cut here":
            self.lowest_above_card = max(self.lowest_above_card, base)
        self.words.append(words)
        return advance

    def white(self, left, base, words, size_pt):
        super().white(left, base, words, size_pt)
        self.words.append(words)

    @property
    def all(self) -> str:
        return "\n".join(self.words)


@pytest.fixture
def recorder(qapp):
    image = QImage(840, 1188, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFF)
    painter = QPainter(image)
    yield Recorder(painter, 4.0)
    painter.end()


def tyre(number: int, **changes) -> HandoverTyre:
    values = {
        "tyre_id": f"H{number:02d}",
        "maker": "Vellmark",
        "model": "Quarry",
        "compound": "hard",
        "use": "gravel",
        "tread_new_mm": 10.0,
        "tread_mm": (6.1, 6.4, 6.0),
        "tread_source": "measured",
        "edge_share": (0.5, 0.4, 0.45),
        "stage_km": 43.0,
        "event_km": 42.9,
        "rim_id": f"G{number:02d}",
        "state": "keep",
        "runs": (RunAt(stage="SS1", place="FL", km=13.6),),
        **changes,
    }
    return HandoverTyre(**values)


def handover(count: int = 22, **changes) -> Handover:
    tyres = [tyre(n) for n in range(1, count + 1)]
    tyres[1] = tyre(2, tread_source="estimated", tread_mm=(3.2, 3.5, 3.1), stage_km=None)
    if count > 4:
        tyres[4] = tyre(5, state="scrap", state_why="cut to the cord", damage=("cut SS5",))
        tyres[3] = tyre(4, state="hold", state_why="bead to be looked at")
    values = {
        "event_id": UUID(int=7),
        "event": "Quellhaven Gravel Weekend",
        "first_day": date(2026, 8, 22),
        "last_day": date(2026, 8, 23),
        "zone": "Etc/GMT-2",
        "regulation_set": "Weekend Gravel",
        "counts": Counts(
            used=17, limit=18, by_compound={"hard": 11, "soft": 6}, caps={"hard": 14}
        ),
        "tyres": tuple(tyres),
        "rims": (HandoverRim(rim_id="G05", state="scrap", note="flange bent 3 mm, SS5"),),
        "open_questions": ("SS5: which rear wheel was changed on the stage?",),
        "wear": (
            WearFigure(
                compound="hard",
                corner="FL",
                surface="gravel_hard",
                road_low_c=36,
                road_high_c=42,
                mm_per_km=0.051,
                stages=6,
            ),
        ),
        "pressures": (
            PressureKept(
                place="B", axle="front", compound="hard", cold_kpa=200, hot_kpa=234, air_c=26
            ),
        ),
        "calls": (
            CallMade(
                place="B",
                proposed={"FL": "H07"},
                fitted={"FL": "H09"},
                override_name="Ana",
                override_reason="driver",
            ),
        ),
        "forecasts": (
            ForecastSeen(place="Skarrow", what="rain to 12:00", came="rain to 10:00"),
        ),
        "actions": ("Ana: gauge 2 to be checked against gauge 1",),
        "lessons": ("Softs behind were quick on the wet loop.",),
        **changes,
    }
    return Handover(**values)


@pytest.mark.parametrize("count", [2, 22, 60])
def test_handover_is_one_a4_page_whatever_the_stock(tmp_path: Path, qapp, count: int):
    path = tmp_path / "sub" / "handover.pdf"
    write_handover_pdf(handover(count), path)
    assert pages_in(path) == 1
    assert size_mm(path) == pytest.approx((210.0, 297.0), abs=0.5)
    assert [p.name for p in path.parent.iterdir()] == ["handover.pdf"]


def test_handover_marks_what_is_only_an_estimate(recorder: Recorder):
    assert tyre_cells(tyre(1))[3] == "6.1  6.4  6.0"
    guessed = tyre_cells(tyre(2, tread_source="estimated", stage_km=None))
    assert guessed[3].startswith("≈ ")
    assert guessed[5] == "43 / ?"
    draw_handover(recorder, handover())
    assert "≈ is an estimate" in recorder.all


def test_handover_says_counts_damage_and_what_is_open(recorder: Recorder):
    draw_handover(recorder, handover())
    for words in (
        "17 of 18 tyres used (hard 11 of 14, soft 6)",
        "cut to the cord; cut SS5",
        "which rear wheel was changed",
        "G05 scrap: flange bent 3 mm, SS5",
        "0.051 mm/km (6 stages, road 36 to 42 °C)",
        "cold 2.00 gave hot 2.34 bar at 26",
        "Ana chose otherwise, driver",
        "came rain to 10:00",
    ):
        assert words in " ".join(recorder.words), words


def test_locked_and_scrapped_tyres_stand_last(recorder: Recorder):
    draw_handover(recorder, handover())
    ids = [w for w in recorder.words if re.fullmatch(r"H\d\d", w)]
    assert ids[-2:] == ["H04", "H05"]


def test_handover_says_why_once_and_without_the_code_of_the_rule():
    cells = tyre_cells(
        tyre(4, state="hold", state_why="DMG-1 puncture, SS2", damage=("puncture, SS2",))
    )
    assert cells[-1] == "puncture, SS2"
    cells = tyre_cells(tyre(5, state="hold", state_why="DMG-1 cut", damage=("bulge, SS1",)))
    assert cells[-1] == "cut; bulge, SS1"


def test_handover_counts_what_found_no_room(recorder: Recorder):
    many = tuple(f"Lesson {n} that is a rather long line of words" for n in range(90))
    draw_handover(recorder, handover(60, lessons=many))
    said = " ".join(recorder.words)
    assert re.search(r"and \d+ more in the file", said)
    assert re.search(r"and \d+ more lines in the file", said)
    assert counts_words(handover()).startswith("17 of 18")
    assert sum(len(lines) for _, lines in word_blocks(handover(60, lessons=many))) > 90


def test_an_unwritable_place_is_an_error_and_leaves_nothing(tmp_path: Path, qapp):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    with pytest.raises(OSError, match="file"):
        write_handover_pdf(handover(), blocked / "handover.pdf")
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_letters_are_kept_as_letters_in_the_file(tmp_path: Path, qapp):
    path = tmp_path / "handover.pdf"
    write_handover_pdf(handover(), path)
    data = path.read_bytes()
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL)
    plain = b"".join(_inflated(s) for s in streams)
    assert b"/FontFile2" in data or b"/FontFile3" in data or b"/FontFile" in data
    assert b"Tf" in plain


def _inflated(stream: bytes) -> bytes:
    try:
        return zlib.decompress(stream)
    except zlib.error:
        return b""


ZONE = timezone(timedelta(hours=2))


def sheet(changes: int = 6, torque: int = 1, **fields) -> Sheet:
    """An invented service with so many wheels to change."""
    stacks = ("stack 2", "stack 2", "stack 4", "stack 4", "on the car, FL", "tyre zone")
    pick = tuple(
        PickLine(
            wheel=f"G{n + 7:02d}·H{n + 7:02d}",
            tyre_id=f"H{n + 7:02d}",
            code="H+",
            compound="hard",
            stack=stacks[n],
            to=PLACES[n],
            machine_min=5.0 if n == 2 else 0.0,
            cold_now="2.00 bar" if n < 2 else "1.95 bar",
            cold_kpa=200.0 if n < 2 else 195.0,
        )
        for n in range(changes)
    )
    fit = tuple(
        FitLine(p.to, f"G{n + 1:02d}·H{n + 1:02d}", p.wheel, p.to in PLACES[:4])
        for n, p in enumerate(pick)
    )
    values = {
        "number": 2,
        "replaces": 1,
        "place": "B",
        "title": "Service B",
        "in_local": datetime(2026, 8, 22, 12, 1, tzinfo=ZONE),
        "out_local": datetime(2026, 8, 22, 12, 31, tzinfo=ZONE),
        "made_local": datetime(2026, 8, 22, 11, 28, tzinfo=ZONE),
        "headline": "NEW HARD ALL ROUND",
        "torque_first": tuple(
            TorqueLine(corner, f"G0{n}·H0{n}", "put on the road, SS2")
            for n, corner in enumerate(PLACES[:torque], 1)
        ),
        "pick": pick,
        "fit": fit,
        "pressures": (
            PressureLine("front", "2.00 bar", 26.0, "2.35 bar", "1.80 bar", floor_binds=False),
            PressureLine("rear", "1.80 bar", 26.0, "2.35 bar", "1.80 bar", floor_binds=True),
            PressureLine(
                "carried", "2.00 bar", 26.0, "2.35 bar", "1.80 bar", floor_binds=False
            ),
        ),
        "short_call": "4 min, +6.0 s: FL G07·H07, FR G08·H08, nothing else",
        "bring": ("G11·S03", "G12·S04"),
        "card": tuple(
            CardLine(place, f"G{n + 7:02d}·H{n + 7:02d}", "H+", "hard", "2.00 bar")
            for n, place in enumerate(PLACES)
        ),
        "card_hot": "hot 2.35 bar at the stop line of SS5",
        "card_not_below": "do not go below 1.80 bar",
        "notes": ("road reading 42 min old, range widened",),
        "zone": ZONE,
        **fields,
    }
    return Sheet(**values)


@pytest.mark.parametrize(("changes", "torque"), [(0, 0), (2, 1), (6, 4)])
def test_sheet_is_one_a4_page(tmp_path: Path, qapp, changes: int, torque: int):
    path = tmp_path / "sheet.pdf"
    write_sheet_pdf(sheet(changes, torque), path)
    assert pages_in(path) == 1
    assert size_mm(path) == pytest.approx((210.0, 297.0), abs=0.5)


def test_sheet_says_all_that_the_mechanics_need(recorder: Recorder):
    draw_sheet(recorder, sheet())
    for words in (
        "SHEET 2",
        "replaces 1",
        "Service B",
        "in 12:01 · out 12:31 · made 11:28",
        "NEW HARD ALL ROUND",
        "TORQUE FIRST",
        "put on the road, SS2",
        "G09·H09",
        "stack 4",
        "5 min",
        "G01·H01",
        "→",
        "hot at the stop line",
        "do not go below",
        "1.80 bar",
        "cold is the floor",
        "4 min, +6.0 s: FL G07·H07, FR G08·H08, nothing else",
        "G11·S03, G12·S04",
        "note: road reading 42 min old, range widened",
    ):
        assert words in recorder.words, words
    assert "never bleed a hot tyre" in " ".join(recorder.words)


def test_card_lies_under_the_cut_and_names_every_wheel(recorder: Recorder):
    draw_sheet(recorder, sheet())
    card = recorder.words[recorder.words.index("cut here") :]
    assert card[1] == "CAR CARD · Service B · out 12:31 · sheet 2"
    for number in range(7, 13):
        assert f"G{number:02d}·H{number:02d}" in card
    assert "hot 2.35 bar at the stop line of SS5 · do not go below 1.80 bar" in card
    assert card.count("cold 2.00 bar") == 6


def test_nothing_to_change_is_said(recorder: Recorder):
    draw_sheet(recorder, sheet(0, 0, short_call="", bring=(), replaces=None, card=()))
    assert "nothing to fetch, every wheel stays" in recorder.words
    assert "nothing to change" in recorder.words
    assert "replaces" not in recorder.all
    assert recorder.words.count("none carried") == 2


def test_fullest_sheet_ends_above_the_cut(recorder: Recorder):
    draw_sheet(recorder, sheet(6, 4, notes=("a long note " * 12,) * 9))
    assert recorder.lowest_above_card < 231.5
    labels = [w for w in recorder.words if w.startswith("SHORT CALL")]
    assert labels


def test_the_sheet_says_what_goes_on_which_rim_in_the_van_and_in_the_boot(recorder: Recorder):
    at = datetime(2026, 8, 23, 5, 28, tzinfo=UTC)
    mount = Mount("S07", "G15", "X3", "B", None, at, 5.0, in_visit=False)
    van = VanList("TC8C", (("S07", "G15"),), ("two jacks",), 2, 55.3, at, at)
    draw_sheet(recorder, sheet(2, 1, mounts=(mount,), van=van, boot_tools=("jack", "gauge")))
    said = " ".join(recorder.words)
    assert "S07 on G15 for B by 07:28" in said
    assert "leaves 07:28 for zone TC8C with G15·S07 · 2 people at most · two jacks" in said
    assert "jack, gauge" in said


def test_the_fullest_sheet_with_rims_and_van_ends_above_the_cut(recorder: Recorder):
    at = datetime(2026, 8, 23, 5, 28, tzinfo=UTC)
    mounts = tuple(
        Mount(f"S{n:02d}", f"G{n:02d}", "", "B", None, at, 5.0, in_visit=False)
        for n in range(1, 7)
    )
    wheels = tuple((f"S{n:02d}", f"G{n:02d}") for n in range(1, 7))
    tools = ("two jacks", "wheel gun", "torque tool", "pressure gauge", "bottle")
    van = VanList("TC8C", wheels, tools, 2, 55.3, at, at)
    draw_sheet(recorder, sheet(6, 4, mounts=mounts, van=van, boot_tools=tools))
    assert recorder.lowest_above_card < 231.5
    assert "SHORT CALL" in recorder.words


def test_sheet_goes_to_a_printer(tmp_path: Path, qapp):
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    print_sheet(sheet(), printer)
    assert pages_in(tmp_path / "printed.pdf") == 1


def test_no_word_that_means_nothing_to_the_crew(recorder: Recorder):
    draw_sheet(recorder, sheet(6, 4))
    draw_handover(recorder, handover())
    never = "gap bound seed scenario prior posterior objective sigma quantile parameter"
    never += " constraint infeasible solver legal safe invalid"
    found = set(re.findall(r"[a-z]+", recorder.all.lower())) & set(never.split())
    assert not found


def test_words_too_long_for_their_cell_stand_whole_below_the_table(recorder: Recorder):
    long = "shakedown only, three runs of 3.9 km on the day before the first leg"
    made = handover(6)
    tyres = (tyre(7, state_why=long), tyre(8, state_why=long), *made.tyres)
    draw_handover(recorder, made.model_copy(update={"tyres": tyres}))
    assert f"H07, H08: {long}" in " ".join(recorder.words).replace("• ", "")
    assert recorder.words.count("see TYRES below") == 2
