"""How each kind of event changes the state of a setup. The tablet applies the same rules."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from api.domain.events import Event
from api.domain.setups import readings, signing
from api.domain.setups.answering import answer, close_troubles, reopen
from api.domain.setups.current import causes, current
from api.domain.setups.fitting import fits
from api.domain.setups.state import (
    Judgement,
    Pulled,
    Restart,
    Setup,
    StepStatus,
    TroubleNote,
    Verdict,
)
from api.domain.steps import group_of

Apply = Callable[[Setup, Event], None]


def apply(setup: Setup, event: Event, verdicts: Mapping[str, Verdict]) -> None:
    """Take one more event into the state; events that fit nowhere are listed as `odd`."""
    if event.kind == "setup opened":
        _opened(setup, event)
        return
    if not fits(setup, event):
        setup.odd.append(event.id)
        return
    if event.kind != "paused":
        setup.paused = False
    signing.note_lateness(setup, event)
    if event.kind in ("signed", "countersigned"):
        signing.sign(setup, event, verdicts.get(event.id, "provisional"))
    else:
        _RULES[event.kind](setup, event)


def _opened(setup: Setup, event: Event) -> None:
    if setup.opened is not None:
        setup.odd.append(event.id)
        return
    setup.opened = event.data
    setup.opened_by, setup.opened_at = event.person, event.at
    setup.owner_tablet, setup.owner_person = event.tablet, event.person
    setup.steps = {step["id"]: StepStatus() for step in setup.plan}


def _step_done(setup: Setup, event: Event) -> None:
    if answer(setup, event):
        _after_step(setup, event)


def _after_step(setup: Setup, event: Event) -> None:
    step = setup.step(event.step or "")
    if step["kind"] == "recheck":
        _close_round(setup)
    if step["kind"] == "lock" and _open_clamps(setup, step["id"]):
        setup.flags.append((event.id, "locked with open clamps"))


def _open_clamps(setup: Setup, lock_id: str) -> list[str]:
    """Clamps whose tightening stands before this lock in the plan and is not done."""
    ids = [step["id"] for step in setup.plan]
    before = setup.plan[: ids.index(lock_id)]
    kinds = ("torque", "recheck")
    return [s["id"] for s in before if s["kind"] in kinds and setup.steps[s["id"]].undone]


def _close_round(setup: Setup) -> None:
    """After the last clamp of a re-check: a mover asks for another round over all clamps."""
    group = [s["id"] for s in setup.plan if group_of(s) == "recheck"]
    if any(setup.steps[one].undone for one in group):
        return
    moved = [one for one in group if setup.steps[one].state == "moved"]
    if moved:
        setup.movers[setup.round] = [setup.step(one)["subject"]["id"] for one in moved]
        setup.round += 1
        reopen(setup, group)


def _clamp_tightened(setup: Setup, event: Event) -> None:
    skipped = _skipped(setup, event)
    if not answer(setup, event):
        return
    _pulled(setup, event)
    if skipped:
        setup.flags.append((event.id, "out of order"))
    _close_earlier_passes(setup, event)


def _skipped(setup: Setup, event: Event) -> bool:
    """True when another clamp was due: open steps go in order, troubled ones any time."""
    status = setup.steps.get(event.step or "")
    due = current(setup)
    if status is None or status.state != "open" or due is None or due == event.step:
        return False
    return group_of(setup.step(due)) is not None


def _close_earlier_passes(setup: Setup, event: Event) -> None:
    """A clamp that took a later pass needs no earlier, lighter one."""
    step = setup.step(event.step or "")
    for other in setup.plan:
        same = other["kind"] == "torque" and other["subject"] == step["subject"]
        if same and other["pass"] < (step["pass"] or 0) and setup.steps[other["id"]].undone:
            setup.steps[other["id"]] = StepStatus(
                "done", event.id, event.tablet, event.person, event.at, [event.id]
            )
            close_troubles(setup, other["id"])


def _clamp_moved(setup: Setup, event: Event) -> None:
    if answer(setup, event, "moved") and setup.step(event.step or "")["kind"] == "recheck":
        _pulled(setup, event)
        _close_round(setup)


def _pulled(setup: Setup, event: Event) -> None:
    """A pass that starts again has its earlier pulls still: nothing was loosened."""
    step = setup.step(event.step or "")
    if step["kind"] != "ease":
        share = step.get("share") or 1.0
        setup.pulls.append(Pulled(event.id, step["subject"]["id"], share))


def _reading(setup: Setup, event: Event) -> None:
    status = setup.steps.get(event.step or "")
    if status is None:
        setup.odd.append(event.id)
    elif _waits(status) and readings.asks_second_entry(setup, event):
        readings.add(setup, event, final=False)
        setup.step_of_event[event.id] = event.step or ""
        status.state, status.tablet = "second entry", event.tablet
        status.person, status.at = event.person, event.at
        status.answers.append(event.id)
    else:
        readings.add(setup, event, final=answer(setup, event))


def _waits(status: StepStatus) -> bool:
    return status.state in ("open", "trouble")


def _correction(setup: Setup, event: Event) -> None:
    step_id = setup.step_of_event.get(event.data["refers"])
    if step_id is None or step_id == "sign":
        setup.odd.append(event.id)
    elif event.data.get("undo"):
        _withdraw(setup, step_id)
    elif step_id in setup.readings and event.data.get("value") is not None:
        readings.correct(setup, step_id, event)
        setup.step_of_event[event.id] = step_id
    else:
        setup.odd.append(event.id)


def _withdraw(setup: Setup, step_id: str) -> None:
    """A step tapped by mistake opens again, and its pull was none."""
    answers = setup.steps[step_id].answers
    setup.pulls = [one for one in setup.pulls if one.event not in answers]
    reopen(setup, [step_id])


def _note(setup: Setup, event: Event) -> None:
    setup.notes.append(event.id)
    for trouble in setup.troubles:
        if trouble.event == event.data.get("closes"):
            trouble.open = False


def _trouble(setup: Setup, event: Event) -> None:
    status = setup.steps.get(event.step or "")
    if status is not None and status.state == "open":
        status.state = "trouble"
    setup.troubles.append(
        TroubleNote(event.id, event.step, event.data["what"], event.data.get("clamp"))
    )


def _paused(setup: Setup, event: Event) -> None:
    setup.paused = True
    _restart_pass(setup, event)


def _taken_over(setup: Setup, event: Event) -> None:
    _restart_pass(setup, event)
    setup.owner_tablet, setup.owner_person = event.tablet, event.person


def _restart_pass(setup: Setup, event: Event) -> None:
    """A pass that is partly done starts again from its first clamp."""
    group = _running_group(setup)
    if group is None:
        return
    ids = [s["id"] for s in setup.plan if group_of(s) == group]
    cleared = [one for one in ids if not setup.steps[one].undone]
    if cleared:
        setup.restarts.append(Restart(event.id, group, cleared))
        reopen(setup, cleared)


def _running_group(setup: Setup) -> str | None:
    step_id = current(setup)
    return None if step_id is None else group_of(setup.step(step_id))


def _judged(setup: Setup, event: Event) -> None:
    data = event.data
    judgement = Judgement(event.id, event.person, data["judgement"], data["reason"], causes(setup))
    setup.judgement = judgement
    setup.judgements.append(judgement)
    setup.steps["judge"] = StepStatus(
        "done", event.id, event.tablet, event.person, event.at, [event.id]
    )
    setup.rejected = data["judgement"] == "reject"
    if data["judgement"] == "rework":
        _rework(setup)


def _rework(setup: Setup) -> None:
    """Everything from the first tightening on is done again, after unlocking."""
    kinds = [step["kind"] for step in setup.plan]
    first = kinds.index("torque") if "torque" in kinds else 0
    setup.attempt += 1
    setup.round = 1
    setup.movers = {}
    setup.flags = [one for one in setup.flags if one[1] != "locked with open clamps"]
    for trouble in setup.troubles:
        trouble.open = False
    setup.judgement = None
    reopen(setup, [step["id"] for step in setup.plan[first:]])


def _abandoned(setup: Setup, _event: Event) -> None:
    setup.abandoned = True


def _conflict_resolved(setup: Setup, event: Event) -> None:
    step_id, keep = event.data["step"], event.data["keep"]
    status = setup.steps.get(step_id)
    if status is None or keep not in status.answers:
        setup.odd.append(event.id)
        return
    status.state, status.event = "done", keep
    readings.keep(setup, step_id, keep)


def _addition(setup: Setup, event: Event) -> None:
    rules: dict[str, Apply] = {"correction": _correction, "note": _note, "reading": _late_reading}
    rules[event.data["adds"]](setup, event)


def _late_reading(setup: Setup, event: Event) -> None:
    if event.step in setup.steps:
        setup.step_of_event[event.id] = event.step
        readings.add(setup, event, final=True)
    else:
        setup.odd.append(event.id)


_RULES: dict[str, Apply] = {
    "step done": _step_done,
    "clamp tightened": _clamp_tightened,
    "clamp moved on re-check": _clamp_moved,
    "reading taken": _reading,
    "correction": _correction,
    "note": _note,
    "trouble": _trouble,
    "paused": _paused,
    "taken over": _taken_over,
    "judged": _judged,
    "abandoned": _abandoned,
    "conflict resolved": _conflict_resolved,
    "after-signature addition": _addition,
}
