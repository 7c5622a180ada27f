"""The handover as one printed page: plain headings and tables."""

from collections.abc import Iterable, Sequence
from html import escape

from crewdesk.desk.cautions import cautions_for
from crewdesk.documents.handover import Handover, HandoverTyre

STYLE = """
@page { size: A4; margin: 12mm; }
body { font-family: 'DejaVu Sans', sans-serif; font-size: 9pt; color: #000; }
h1 { font-size: 14pt; margin: 0 0 2mm; }
h2 { font-size: 10pt; margin: 3mm 0 1mm; }
table { border-collapse: collapse; width: 100%; font-size: 7.5pt; }
th, td { border: 0.5pt solid #000; padding: 0.4mm 1mm; text-align: left; }
td.number { text-align: right; }
p, ul { margin: 0 0 1mm; }
ul { padding-left: 5mm; }
"""

_STATES = {"keep": "keep", "test": "test only", "hold": "on hold", "scrap": "scrap"}


def handover_html(handover: Handover) -> str:
    """Return the page; estimates are marked with ≈."""
    counts = handover.counts
    limit = f" of {counts.limit}" if counts.limit is not None else ""
    compounds = ", ".join(f"{word} {n}" for word, n in counts.by_compound.items())
    jokers = (
        f"; damage replacements {counts.jokers_used} of {counts.jokers}"
        if counts.jokers
        else ""
    )
    summary = (
        f"{handover.first_day} to {handover.last_day}. Rules: {handover.regulation_set}. "
        f"Tyres counted {counts.used}{limit}{f' ({compounds})' if compounds else ''}{jokers}. "
        "Marks of this event are void. ≈ is an estimate."
    )
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f"<title>Handover: {escape(handover.event)}</title>",
        f"<style>{STYLE}</style></head><body>",
        f"<h1>Handover: {escape(handover.event)}</h1>",
        f"<p>{escape(summary)}</p>",
        "<h2>Tyres</h2>",
        _tyre_table(handover.tyres),
    ]
    scrapped = [t for t in handover.tyres if t.state == "scrap"]
    held = [t for t in handover.tyres if t.state == "hold"]
    unused = [
        t
        for t in handover.tyres
        if not t.counted and t.tread_source == "new" and t.state == "keep"
    ]
    parts += _list("Scrapped", (f"{_name(t)}: {t.state_why}" for t in scrapped))
    parts += _list("On hold", (f"{_name(t)}: {t.state_why}" for t in held))
    if unused:
        parts.append(f"<h2>Unused</h2><p>{escape(', '.join(t.tyre_id for t in unused))}</p>")
    rims = [r for r in handover.rims if r.state != "good"]
    parts += _list("Rims to look at", (f"{r.rim_id}: {r.note or r.state}" for r in rims))
    parts += _list("Questions still open", handover.open_questions)
    parts += _list("Left to do", handover.actions)
    parts += _list(
        "Rules overridden",
        (
            f"{o.code or 'All that stopped the fitting'}{f' at {o.place}' if o.place else ''}: "
            f"{o.name}, {o.reason}"
            for o in handover.overrides
        ),
    )
    parts += _list(
        "Bulletins and changes",
        (
            " ".join(
                word
                for word in (
                    b.what.replace("_", " "),
                    b.target,
                    "" if b.what == "files" or b.value is None else str(b.value),
                    f"(bulletin {b.bulletin_no})" if b.bulletin_no else "",
                )
                if word
            )
            for b in handover.bulletins
        ),
    )
    parts += _list("To order", handover.orders)
    parts += _list("What was learnt", handover.learnt_words)
    parts += _list(
        "Wear as read",
        (
            f"{w.maker} {w.model} {w.compound} {w.corner}, {w.surface}: "
            f"{w.mm_per_km:.3f} mm/km ({w.stages} stages)"
            for w in handover.wear
        ),
    )
    parts += _list(
        "Pressures",
        (
            f"{p.place} {p.axle} {p.compound}: cold {p.cold_kpa / 100:.2f} bar"
            f"{f' at {p.air_c:.0f} °C' if p.air_c is not None else ''} gave hot "
            f"{p.hot_kpa / 100:.2f} bar"
            for p in handover.pressures
        ),
    )
    parts += _list(
        "Forecast and what came", (f"{f.what}: {f.came}" for f in handover.forecasts)
    )
    parts += _list("Lessons", handover.lessons)
    parts += _list("To bear in mind", (one.text for one in cautions_for("handover")))
    parts.append("</body></html>")
    return "\n".join(parts) + "\n"


def _name(tyre: HandoverTyre) -> str:
    return f"{tyre.rim_id}·{tyre.tyre_id}" if tyre.rim_id else tyre.tyre_id


def _list(title: str, lines: Iterable[str]) -> list[str]:
    items = [f"<li>{escape(line)}</li>" for line in lines]
    return [f"<h2>{escape(title)}</h2>", f"<ul>{''.join(items)}</ul>"] if items else []


def _tyre_table(tyres: Sequence[HandoverTyre]) -> str:
    head = "".join(
        f"<th>{word}</th>"
        for word in ("wheel", "mark", "compound", "in / mid / out mm", "edges", "km", "state")
    )
    rows = []
    for tyre in tyres:
        about = "≈ " if tyre.tread_source == "estimated" else ""
        depth = about + " / ".join(f"{mm:.1f}" for mm in tyre.tread_mm)
        edges = sum(tyre.edge_share) / 3
        why = f": {tyre.state_why}" if tyre.state_why else ""
        state = escape(f"{_STATES[tyre.state]}{why}")
        rows.append(
            f"<tr><td>{escape(_name(tyre))}</td><td>{escape(tyre.mark)}</td>"
            f"<td>{escape(tyre.compound)}</td><td>{depth}</td>"
            f'<td class="number">{edges * 100:.0f} %</td>'
            f'<td class="number">{tyre.event_km:.1f}</td><td>{state}</td></tr>'
        )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
