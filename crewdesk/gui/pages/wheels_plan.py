"""The wheels plan: what on which rim by when, what the van takes, what goes in the boot."""

from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from crewdesk.gui.caution_lines import caution_labels
from crewdesk.gui.page import Page
from crewdesk.gui.parts import button, card, clear, column, label, lines_in, row
from crewdesk.gui.session import Session
from crewdesk.gui.texts import SHORT, bar, clock, wheel
from crewdesk.gui.timing import short_label

if TYPE_CHECKING:
    from crewdesk.desk.wheels_plan import Mount
    from crewdesk.engine.result import LoopPlan
    from crewdesk.units import Place


class WheelsPlanPage(Page):
    """Everything that must be ready before the car is."""

    key = "wheels_plan"
    wide = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.title = label(self.tr("Wheels plan"), "wheels_title", "title", wrap=True)
        self.mounted = button(
            self.tr("Mount a tyre"),
            "wheels_find",
            lambda: self.go.emit("find"),
            spoken=self.tr("Mount a tyre: find it first"),
        )
        head = row(self.title, self.mounted)
        head.setStretch(0, 1)
        self._lines, area = lines_in("wheels_lines")
        self.setLayout(column(head, area))
        session.answered.connect(self._news)

    def _news(self) -> None:
        if self.isVisible():
            self.refresh()

    def heading(self) -> str:
        return self.tr("Wheels plan")

    def primary_text(self) -> str:
        return self.tr("Print the sheet") if self._plans() else self.tr("To the call")

    def primary(self) -> None:
        self.go.emit("print" if self._plans() else "call")

    def _plans(self) -> "tuple[LoopPlan, ...]":
        session = self.session
        answer, place = session.answer, session.place if session.is_open else None
        if answer is None or place is None or answer.place != place.key:
            return ()
        from crewdesk.gui.exports import answer_for

        used = session.call_in_use()
        if used is not None and answer.result.plan:
            answer = answer_for(answer, used)
        return answer.result.plan

    def refresh(self) -> None:
        clear(self._lines)
        if not self.session.is_open:
            return
        plans = self._plans()
        if not plans:
            words = self.tr("There is no call yet: the wheels follow from it.")
            self._lines.addWidget(label(words, "wheels_none", "strong", wrap=True))
        else:
            self._mounting(plans)
            self._van(plans)
            self._boot(plans)
            cautions = caution_labels(self.session, "mounting", "wheels_caution")
            self._lines.addWidget(card("wheels_cautions", *cautions))
        self._lines.addStretch(1)
        self.primary_changed.emit()

    def _clock(self, at: datetime) -> str:
        return clock(at, self.session.zone)

    def _mounting(self, plans: "tuple[LoopPlan, ...]") -> None:
        """Show what must be on which rim by when, and where the machine is too slow."""
        from crewdesk.desk.wheels_plan import mounting_messages, mounting_plan

        session = self.session
        mounts = mounting_plan(session.bundle, session.state, plans)
        lines: list[QWidget] = [label(self.tr("On which rim by when"), "mount_head", "strong")]
        if not mounts:
            words = self.tr("Every tyre of the plan is on its rim.")
            lines.append(label(words, "mount_none", wrap=True))
        for at, mount in enumerate(mounts):
            lines.append(label(self._mount_words(mount), f"mount_{at}", wrap=True))
        total = sum(mount.machine_min for mount in mounts)
        if mounts:
            words = self.tr("Machine: {0} min in all, one tyre after the other.")
            lines.append(label(words.format(f"{total:.0f}"), "mount_sum", "muted", wrap=True))
        for at, said in enumerate(mounting_messages(session.bundle, mounts, session.now())):
            words = self.tr("⚠ watch: {0}").format(said.text)
            lines.append(label(words, f"mount_watch_{at}", "watch", wrap=True))
        self._lines.addWidget(card("mounting", *lines))

    def _mount_words(self, mount: "Mount") -> str:
        off = (
            self.tr("{0} comes off it").format(mount.comes_off)
            if mount.comes_off
            else self.tr("the rim is free")
        )
        free = (
            self.tr("rim there from {0}").format(self._clock(mount.free_utc))
            if mount.free_utc is not None
            else self.tr("rim lies here")
        )
        when = (
            self.tr("in the visit, out {0}").format(self._clock(mount.by_utc))
            if mount.in_visit
            else self.tr("by {0}").format(self._clock(mount.by_utc))
        )
        return self.tr("{0} on {1} for {2}, {3} · {4} · {5} · machine {6} min").format(
            mount.tyre_id,
            mount.rim_id,
            mount.place,
            when,
            off,
            free,
            f"{mount.machine_min:.0f}",
        )

    def _van(self, plans: "tuple[LoopPlan, ...]") -> None:
        """Show what each zone crew takes along and when it leaves."""
        from crewdesk.desk.wheels_plan import van_list

        session = self.session
        zones = {p.key for p in session.bundle.itinerary.change_places if p.kind == "zone"}
        for plan in plans:
            if plan.place not in zones:
                continue
            van = van_list(session.bundle, session.state, plan)
            lines: list[QWidget] = [
                label(
                    self.tr("Van to zone {0}: leaves {1}, car due {2}, {3} km of road").format(
                        van.place,
                        self._clock(van.leaves_utc),
                        self._clock(van.due_in_utc),
                        f"{van.road_km:.0f}",
                    ),
                    f"van_{van.place}",
                    "strong",
                    wrap=True,
                )
            ]
            names = "  ".join(wheel(rim, tyre) for tyre, rim in van.wheels)
            lines.append(
                label(
                    self.tr("Wheels: {0}").format(names or self.tr("none")),
                    f"van_wheels_{van.place}",
                    wrap=True,
                )
            )
            lines.append(
                label(
                    self.tr("Tools: {0}").format(", ".join(van.tools)),
                    f"van_tools_{van.place}",
                    wrap=True,
                )
            )
            if van.people_max is not None:
                words = self.tr("At the car there: {0} people at most").format(van.people_max)
                lines.append(label(words, f"van_people_{van.place}", wrap=True))
            self._lines.addWidget(card(f"van_card_{van.place}", *lines))

    def _boot(self, plans: "tuple[LoopPlan, ...]") -> None:
        """Show what is carried on each loop with stages, the next one in full."""
        from crewdesk.desk.wheels_plan import boot_list

        session = self.session
        places = {p.key: p for p in session.bundle.itinerary.change_places}
        lines: list[QWidget] = [label(self.tr("In the boot"), "boot_head", "strong")]
        tools: tuple[str, ...] = ()
        for at, plan in enumerate(plans):
            place = places[plan.place]
            if not place.stages:
                continue
            boot = boot_list(session.state, plan)
            tools = tools or boot.tools
            text = "   ".join(
                self._boot_wheel(where, rim, tyre, boot.cold_kpa.get(where))
                for where, tyre, rim in boot.wheels
            )
            span = place.stages[0] if len(place.stages) == 1 else ""
            span = span or f"{place.stages[0]}–{place.stages[-1]}"
            lines.append(
                label(
                    self.tr("{0}, {1}: {2}").format(
                        short_label(place), span, text or self.tr("no spare wheel")
                    ),
                    f"boot_{at}",
                    wrap=True,
                )
            )
        if tools:
            words = self.tr("Tools, fixed before leaving: {0}").format(", ".join(tools))
            lines.append(label(words, "boot_tools", wrap=True))
        self._lines.addWidget(card("boot", *lines))

    def _boot_wheel(self, where: "Place", rim: str, tyre: str, kpa: float | None) -> str:
        cold = self.tr(" cold {0} bar").format(bar(kpa)) if kpa is not None else ""
        return f"{SHORT[where]} {wheel(rim, tyre)}{cold}"
