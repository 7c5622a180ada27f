"""The command line: each command is one call into the desk, and says what came of it."""

import argparse
import contextlib
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from crewdesk import __version__
from crewdesk.errors import CrewdeskError

if TYPE_CHECKING:
    from crewdesk.desk.answer import CallOptions
    from crewdesk.desk.day import Day
    from crewdesk.desk.state import DayState
    from crewdesk.documents.bundle import EventBundle

DONE, FAULT, USAGE = 0, 1, 2
DEMO = "quellhaven"

_ABOUT = """\
crewdesk tells a small rally service crew which tyre goes on which corner, now and for every
later loop. Without a command it opens the window on an event.

  crewdesk [EVENT] [--book PATH]      open the window (on the last event, or a demo)
  crewdesk COMMAND --help             what a command does, with its options
"""
_EXIT = "Ends with 0 when done, 1 when something given is at fault, 2 on wrong usage."


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code; never a traceback."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read along has gone; what is left to say goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        return 130
    except CrewdeskError as error:
        _say(f"{error}")
        return FAULT
    except Exception as error:  # noqa: BLE001 - the last stop before a traceback
        return _report(error, arguments)


def _run(arguments: list[str]) -> int:
    if not arguments:
        # The usual way in: the window waits for no list of commands.
        return _window(window_parser().parse_args(arguments))
    parser, commands = build_parser()
    first = next((a for a in arguments if not a.startswith("-")), None)
    if arguments and first in commands and arguments[0] == first:
        given = parser.parse_args(arguments)
        run: Callable[[argparse.Namespace], int] = given.run
        return run(given)
    if any(a in ("-h", "--help", "--version") for a in arguments):
        parser.parse_args(arguments)
    return _window(window_parser().parse_args(arguments))


# ---- what may be typed


def window_parser() -> argparse.ArgumentParser:
    """Return the parser for opening the window."""
    parser = argparse.ArgumentParser(prog="crewdesk", description=_ABOUT, epilog=_EXIT)
    parser.add_argument("event", metavar="EVENT", nargs="?", help="folder of an event")
    parser.add_argument("--book", type=Path, metavar="PATH", help="another day book")
    return parser


def build_parser() -> tuple[argparse.ArgumentParser, Mapping[str, argparse.ArgumentParser]]:
    """Return the parser with all commands, and each command's own parser by name."""
    parser = argparse.ArgumentParser(
        prog="crewdesk",
        description=_ABOUT,
        epilog=_EXIT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"crewdesk {__version__}")
    group = parser.add_subparsers(title="commands", dest="command", metavar="COMMAND")
    commands: dict[str, argparse.ArgumentParser] = {}

    def command(
        name: str, what: str, run: Callable[[argparse.Namespace], int]
    ) -> argparse.ArgumentParser:
        made = group.add_parser(
            name, help=what, description=f"{what[0].upper()}{what[1:]}.", epilog=_EXIT
        )
        made.set_defaults(run=run)
        commands[name] = made
        return made

    check = command("check", "look over every document of an event and list all faults", _check)
    _event(check)
    check.add_argument("--json", action="store_true", help="print the findings as JSON")

    call = command("call", "work out the call for the next change place", _call)
    _event(call)
    _call_options(call)
    call.add_argument("--json", action="store_true", help="print the whole call as JSON")

    judge = command("judge", "tell what a given plan would cost under the same model", _judge)
    _event(judge)
    judge.add_argument(
        "--plan",
        type=Path,
        required=True,
        metavar="FILE",
        help="what call --json printed, its plan list, or one fitting; - reads standard input",
    )
    _call_options(judge)
    judge.add_argument("--json", action="store_true", help="print the judgement as JSON")

    enter = command("enter", "add entries to a day book, one JSON object a line", _enter)
    _event(enter)
    _book(enter)
    enter.add_argument("file", metavar="FILE", help="lines of JSON; - reads standard input")
    enter.add_argument("--keep-going", action="store_true", help="go on after a refused line")

    backtest = command(
        "backtest", "play simulated days and compare the call with other policies", _backtest
    )
    _event(backtest)
    _backtest_options(backtest)
    backtest.add_argument("--json", action="store_true", help="print the days as JSON")

    bring = command("import", "bring an itinerary, stock or weather table in", _import)
    bring.add_argument(
        "kind",
        metavar="KIND",
        choices=("itinerary", "stock", "weather"),
        help="itinerary, stock or weather",
    )
    bring.add_argument(
        "file",
        type=Path,
        metavar="FILE",
        help="a table as CSV or XLSX, with any headings; for the stock also a handover.json",
    )
    bring.add_argument("--into", required=True, metavar="EVENT", help="folder of the event")
    bring.add_argument(
        "--first-day",
        type=_day,
        metavar="DATE",
        help="day of the first leg, as 2026-05-16, for times without a date",
    )
    bring.add_argument(
        "--look", action="store_true", help="tell what was understood and write nothing"
    )

    book = command("book", "print, export or look over the day book of an event", _book_command)
    _event(book)
    _book(book)
    book.add_argument("--verify", action="store_true", help="look the book over for damage")
    book.add_argument(
        "--export", metavar="FILE", help="write it as lines of JSON; - prints them"
    )

    handover = command("handover", "write what the next event starts from", _handover)
    _event(handover)
    _book(handover)
    handover.add_argument("--to", type=Path, required=True, metavar="FOLDER", help="where to")

    schema = command("schema", "print the JSON Schema of a document or an entry", _schema)
    schema.add_argument("kind", metavar="KIND", help="entry, event, stock and others")
    return parser, commands


def _event(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("event", metavar="EVENT", help="folder of the event")


def _book(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--book", type=Path, metavar="PATH", help="the day book; left out: the event's own"
    )


def _day(text: str) -> date:
    """Return a day typed as 2026-05-16."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text} is no date; write it as 2026-05-16") from None


def _call_options(parser: argparse.ArgumentParser) -> None:
    from crewdesk.desk import options as kinds

    add = parser.add_argument
    add("--at", metavar="PLACE", help="change place: its letter, either control, or start")
    add("--air-c", type=kinds.celsius, metavar="X", help="air now at that place, in °C")
    add("--road-c", type=kinds.celsius, metavar="X", help="road now at that place, in °C")
    add("--surface", metavar="WORD", help="road state now: dry, damp, wet and others")
    add("--hold", action="store_true", help="take these as true on every stage of the loop")
    add(
        "--lock",
        action="append",
        type=kinds.lock,
        default=[],
        metavar="FL=ID",
        help="keep a tyre on a place; may be given again",
    )
    add(
        "--ban",
        action="append",
        default=[],
        metavar="ID_OR_COMPOUND",
        help="leave a tyre or a compound out; may be given again",
    )
    add(
        "--seed",
        type=kinds.count,
        default=0,
        metavar="N",
        help="which draw of the weather (0)",
    )
    add(
        "--scenarios",
        type=kinds.positive,
        default=64,
        metavar="N",
        help="courses of the day (64)",
    )
    add(
        "--new-tyre-worth-s",
        type=kinds.seconds,
        metavar="X",
        help="seconds a new tyre is worth",
    )
    add("--book", type=Path, metavar="PATH", help="start from the state of this day book")


def _backtest_options(parser: argparse.ArgumentParser) -> None:
    from crewdesk.desk import options as kinds
    from crewdesk.desk.backtest import options as own

    add = parser.add_argument
    add("--days", type=kinds.whole, default=20, metavar="N", help="how many days (20)")
    add("--seed", type=kinds.count, default=0, metavar="N", help="which days (0)")
    add(
        "--scenarios",
        type=kinds.positive,
        default=16,
        metavar="N",
        help="courses of the day that each decision looks at (16)",
    )
    add("--jobs", type=kinds.whole, metavar="N", help="processors to use; left out: all")
    add(
        "--widen",
        type=own.widened,
        default=1.0,
        metavar="X",
        help="factor on how far a day lies from what is expected (1)",
    )
    add(
        "--bias-air-c",
        type=own.warmer,
        default=0.0,
        metavar="X",
        help="how much warmer each day is than forecast, in °C (0)",
    )
    add(
        "--wear-bias",
        type=own.wear,
        default=1.0,
        metavar="X",
        help="true wear over that of the table (1)",
    )


# ---- opening things


def _folder(word: str) -> Path:
    from crewdesk.desk.plain_files import event_folder

    return event_folder(word)


def _open(given: argparse.Namespace, *, read_only: bool) -> "Day":
    from crewdesk.desk.day import Day
    from crewdesk.errors import JournalError

    if read_only and given.book is not None and not given.book.exists():
        raise JournalError(
            f"There is no day book {given.book}.", hint="Name the book, or leave --book out."
        )
    return Day.open(_folder(given.event), book_path=given.book, read_only=read_only)


def _start_of(
    given: argparse.Namespace,
) -> "tuple[EventBundle, DayState, bool]":
    """Return documents and state: of the book, or of the event's beginning without one."""
    from crewdesk.desk.replay import replay
    from crewdesk.documents.store import load_event

    if given.book is None:
        bundle = load_event(_folder(given.event))
        return bundle, replay(bundle, ()), False
    with _open(given, read_only=True) as day:
        for missing in day.missing:
            _say(missing)
        return day.bundle, day.state, True


def _options(given: argparse.Namespace) -> "CallOptions":
    from crewdesk.desk.answer import CallOptions

    return CallOptions(
        at=given.at,
        air_c=given.air_c,
        road_c=given.road_c,
        surface=given.surface,
        hold=given.hold,
        locks=dict(given.lock),
        bans=frozenset(given.ban),
        seed=given.seed,
        scenarios=given.scenarios,
        new_tyre_worth_s=given.new_tyre_worth_s,
    )


# ---- the commands


def _check(given: argparse.Namespace) -> int:
    from crewdesk.desk.check_event import check_all_of

    report = check_all_of(_folder(given.event))
    if given.json:
        from crewdesk.desk.plain_files import check_document

        _print_json(check_document(report))
        return DONE if report.ok else FAULT
    for fault in report.faults:
        _say(str(fault))
    for note in report.notes:
        print(f"note: {note}")
    for words in report.assumed:
        print(f"assumed: {words}")
    if report.before:
        print("Before the event:")
    for topic, level, words in report.before:
        print(f"{topic}, {'✓' if level == 'holds' else level}: {words}")
    for words in report.cautions:
        print(f"caution: {words}")
    if report.ok:
        print("No fault found in the documents.")
        return DONE
    count = len(report.faults)
    _say(f"{count} fault{'s' if count != 1 else ''} found.")
    return FAULT


def _call(given: argparse.Namespace) -> int:
    from crewdesk.desk.ask import answer_at
    from crewdesk.desk.words import call_words

    bundle, state, has_book = _start_of(given)
    with _only_our_words():
        made = answer_at(bundle, state, _options(given), has_book=has_book)
    if given.json:
        _print_json(made.call)
    else:
        print("\n".join(call_words(bundle, state, made)))
    return DONE


def _judge(given: argparse.Namespace) -> int:
    from crewdesk.desk.judging import judge_at, judged_words, read_plan

    plan = read_plan(_text_of(str(given.plan)), str(given.plan))
    bundle, state, has_book = _start_of(given)
    with _only_our_words():
        judged, document = judge_at(bundle, state, _options(given), plan, has_book=has_book)
    if given.json:
        _print_json(document)
    else:
        print("\n".join(judged_words(bundle, state, judged)))
    return DONE


def _enter(given: argparse.Namespace) -> int:
    from crewdesk.desk.lines import enter_lines

    text = _text_of(given.file)
    with _open(given, read_only=False) as day:
        for name in day.folder_differs():
            _say(f"{name} is not as the book keeps it; the book's copy is used.")
        refused = 0
        for answer in enter_lines(day, text, keep_going=given.keep_going):
            print(json.dumps(answer, ensure_ascii=False), flush=True)
            if not answer["accepted"]:
                refused += 1
                why = "; ".join(m["text"] for m in answer["messages"] if m["level"] == "stops")
                _say(f"Line {answer['line']} was not taken: {why}")
    return FAULT if refused else DONE


def _backtest(given: argparse.Namespace) -> int:
    from crewdesk.desk.backtest.run import backtest_days
    from crewdesk.desk.backtest.score import backtest_document
    from crewdesk.desk.backtest.sky import Spread
    from crewdesk.desk.backtest.words import backtest_words
    from crewdesk.documents.store import load_event

    bundle = load_event(_folder(given.event))
    with _only_our_words():
        made = backtest_days(
            bundle,
            given.days,
            given.seed,
            spread=Spread(given.widen, given.bias_air_c, given.wear_bias),
            scenarios=given.scenarios,
            jobs=given.jobs,
            on_progress=_days_done,
        )
    if sys.stderr.isatty():
        _say("")
    if made.stopped:
        _say(f"Stopped: {len(made.days)} of {given.days} days are done.")
    if given.json:
        _print_json(backtest_document(made))
    else:
        print("\n".join(backtest_words(made)))
    return DONE


def _days_done(done: int, total: int) -> None:
    """Say on standard error how far it is: one line that moves on, where there is a screen."""
    end = "\r" if sys.stderr.isatty() else "\n"
    print(f"{done} of {total} days done", end=end, file=sys.stderr, flush=True)


def _import(given: argparse.Namespace) -> int:
    from crewdesk.desk.importing import bring_in

    lines, faults = bring_in(
        given.kind, given.file, _folder(given.into), first_day=given.first_day, look=given.look
    )
    print("\n".join(lines))
    for fault in faults:
        _say(fault)
    return FAULT if faults else DONE


def _book_command(given: argparse.Namespace) -> int:
    from crewdesk.desk.book_page import book_lines, verify_lines

    if given.verify:
        lines, sound = verify_lines(_folder(given.event), given.book)
        for line in lines:
            print(line) if sound else _say(line)
        return DONE if sound else FAULT
    with _open(given, read_only=True) as day:
        for missing in day.missing:
            _say(missing)
        if given.export is None:
            print("\n".join(book_lines(day)))
            return DONE
        from crewdesk.documents.writer import write_atomic
        from crewdesk.journal.merge import export_jsonl

        text = export_jsonl(day.entries)
        if given.export == "-":
            sys.stdout.write(text)
        else:
            write_atomic(Path(given.export), text)
            print(f"{len(day.entries)} entries written to {given.export}.")
    return DONE


def _handover(given: argparse.Namespace) -> int:
    from crewdesk.desk.handover import write_handover

    with _open(given, read_only=True) as day:
        for path in write_handover(day, given.to):
            print(path)
    return DONE


def _schema(given: argparse.Namespace) -> int:
    from crewdesk.documents.schemas import KINDS, schema_text
    from crewdesk.journal.lines import entry_schema

    kinds = ("entry", *KINDS)
    if given.kind == "entry":
        _print_json(entry_schema())
    elif given.kind in KINDS:
        sys.stdout.write(schema_text(given.kind))
    else:
        _say(f"There is no schema of {given.kind}. There are: {', '.join(kinds)}.")
        return USAGE
    return DONE


def has_screen(environment: Mapping[str, str] = os.environ) -> bool:
    """Say whether a window can be shown; only Linux may lack a screen."""
    if not sys.platform.startswith("linux"):
        return True
    names = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return any(environment.get(name) for name in names)


def _window(given: argparse.Namespace) -> int:
    event = _folder(given.event) if given.event is not None else None
    if has_screen():
        from crewdesk.gui.start import run_window

        return run_window(event, given.book)
    _say("There is no screen here, so the call is printed instead of the window.")
    words = [str(event if event is not None else _folder(DEMO))]
    if given.book is not None:
        words += ["--book", str(given.book)]
    parser, _ = build_parser()
    return _call(parser.parse_args(["call", *words]))


# ---- saying things


def _say(text: str) -> None:
    print(text, file=sys.stderr)


@contextlib.contextmanager
def _only_our_words() -> Iterator[None]:
    """Keep the libraries' own greetings out of standard output while they work.

    They write below Python, straight to the file that standard output is.
    """
    sys.stdout.flush()
    kept = os.dup(1)
    away = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(away, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(away)


def _print_json(document: Any) -> None:
    print(json.dumps(document, ensure_ascii=False, indent=1))


def _text_of(name: str) -> str:
    from crewdesk.desk.plain_files import read_text

    return sys.stdin.read() if name == "-" else read_text(Path(name))


def _report(error: Exception, arguments: Sequence[str]) -> int:
    """Write what went wrong where we can read it, and tell the crew in one sentence."""
    from crewdesk.desk.fault_report import write_report

    where = write_report(error, arguments)
    kept = f"The report is in {where}." if where else "No report could be written."
    _say(
        f"Something went wrong inside the program ({type(error).__name__}); the day book is "
        f"untouched. {kept}"
    )
    return FAULT
