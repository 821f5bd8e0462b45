"""Named stories of one setup, used by the fold's tests and written out as shared vectors."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from api.domain.events import Event
from tests.support.script import NOTHING_DUE, Tablet, layout, steps_of

SETUP = "01920000-0000-7000-8000-000000000abc"
STEPS = steps_of(layout())
TOUCH_C1 = {**NOTHING_DUE, "second_touch": ["C1"]}
Story = tuple[list[Event], dict[str, Any]]
Verdicts = dict[str, str]


def _start(until: str | None, facts: dict[str, Any] = NOTHING_DUE) -> tuple[Tablet, list[Event]]:
    tablet = Tablet("tab-1", setup=SETUP)
    return tablet, [tablet.open(facts), *tablet.work(STEPS, until, facts)]


def whole() -> Story:
    _, events = _start(None)
    return events, {}


def half_a_pass() -> Story:
    _, events = _start("torque/2/C1")
    return events, {}


def left_in_a_pass() -> Story:
    tablet, events = _start("torque/2/C1")
    return [*events, tablet.write("paused", None, reason="left")], {}


def left_between_passes() -> Story:
    tablet, events = _start("torque/2/C2")
    return [*events, tablet.write("paused", None, reason="left")], {}


def a_clamp_left_open() -> Story:
    tablet, events = _start("torque/2/C2")
    trouble = tablet.write("trouble", "torque/2/C2", what="would not turn", clamp="C2")
    return [*events, trouble, tablet.tighten("torque/2/C1")], {}


def locked_with_a_clamp_open() -> Story:
    tablet, events = _start("torque/2/C1")
    return [*events, tablet.write("step done", "lock")], {}


def a_later_pass_closes_an_earlier() -> Story:
    tablet, events = _start("torque/1/C2")
    trouble = tablet.write("trouble", "torque/1/C2", what="would not turn", clamp="C2")
    rest = [tablet.tighten("torque/1/C1"), tablet.tighten("torque/2/C2", "12.0")]
    return [*events, trouble, *rest], {}


def a_mover() -> Story:
    tablet, events = _start("recheck/C2")
    events += [tablet.moved("recheck/C2"), tablet.write("step done", "recheck/C1", moved=False)]
    return events, {}


def a_mover_then_quiet() -> Story:
    events, _ = a_mover()
    tablet = _continue(events)
    events += [tablet.write("step done", f"recheck/{one}", moved=False) for one in ("C2", "C1")]
    return events, {}


def out_once() -> Story:
    tablet, events = _start("read/A/torqued locked")
    return [*events, tablet.reading("read/A/torqued locked", "0.08")], {}


def out_twice() -> Story:
    events, _ = out_once()
    tablet = _continue(events)
    second = tablet.reading("read/A/torqued locked", "0.07", 2, reason="read again")
    return [*events, second], {}


def out_then_in() -> Story:
    events, _ = out_once()
    tablet = _continue(events)
    second = tablet.reading("read/A/torqued locked", "0.04", 2, reason="misread one turn")
    return [*events, second], {}


def out_and_accepted() -> Story:
    events, _ = out_twice()
    tablet = _continue(events, person="B-03")
    return [
        *events,
        tablet.write("judged", "judge", judgement="accept", reason="op 20 cuts it"),
    ], {}


def out_and_reworked() -> Story:
    events, _ = out_twice()
    tablet = _continue(events, person="B-03")
    return [*events, tablet.write("judged", "judge", judgement="rework", reason="chip found")], {}


def out_and_rejected() -> Story:
    events, _ = out_twice()
    tablet = _continue(events, person="B-03")
    late = [
        tablet.write("judged", "judge", judgement="reject", reason="receiver damaged"),
        tablet.write("step done", "machine"),
    ]
    return [*events, *late], {}


def corrected() -> Story:
    tablet, events = _start("sign")
    last = events[-1]
    fields = {"value": "0.06", "unit": "mm", "raw": "0.06", "source": "typed"}
    return [
        *events,
        tablet.write("correction", None, refers=last.id, reason="pointer misread", **fields),
    ], {}


def undone_step() -> Story:
    tablet, events = _start("sign")
    lock = next(event for event in events if event.step == "lock")
    return [
        *events,
        tablet.write("correction", None, refers=lock.id, reason="not done", undo=True),
    ], {}


def signed_then_corrected() -> Story:
    tablet, events = _start("sign")
    reading = events[-1]
    events = [*events, tablet.sign(events)]
    fields = {"value": "0.04", "unit": "mm", "raw": "0.04", "source": "typed"}
    more = {"adds": "correction", "refers": reading.id, "reason": "digit swapped", **fields}
    return [*events, tablet.write("after-signature addition", None, **more)], {}


def signed_corrected_signed() -> Story:
    events, _ = signed_then_corrected()
    tablet = _continue(events)
    return [*events, tablet.sign(events)], {}


def refused_signature() -> Story:
    tablet, events = _start("sign")
    signature = tablet.sign(events)
    return [*events, signature], {signature.id: "refused"}


def two_answers() -> Story:
    _, events = _start("torque/2/C1")
    one, other = _continue(events), Tablet("tab-2", setup=SETUP, person="B-02")
    return [*events, one.tighten("torque/2/C1"), other.tighten("torque/2/C1")], {}


def two_answers_settled() -> Story:
    events, _ = two_answers()
    tablet = _continue(events[:-1], person="B-03")
    fields = {"step": "torque/2/C1", "keep": events[-1].id, "reason": "saw it done"}
    return [*events, tablet.write("conflict resolved", "torque/2/C1", **fields)], {}


def two_readings() -> Story:
    _, events = _start("read/A/torqued locked")
    one, other = _continue(events), Tablet("tab-2", setup=SETUP, person="B-02")
    step = "read/A/torqued locked"
    rival = [one.reading(step, "0.02"), other.reading(step, "0.03")]
    keep = one.write("conflict resolved", step, step=step, keep=rival[1].id, reason="own eyes")
    return [*events, *rival, keep], {}


def taken_over() -> Story:
    _, events = _start("torque/2/C1")
    other = Tablet("tab-2", setup=SETUP, person="B-02")
    more = {"from": "B-01", "from_tablet": "tab-1"}
    return [*events, other.write("taken over", None, **more)], {}


def touched_and_moved() -> Story:
    tablet, events = _start("touch/C1", TOUCH_C1)
    return [*events, tablet.moved("touch/C1")], {}


def out_of_order() -> Story:
    tablet, events = _start("torque/2/C2")
    return [*events, tablet.tighten("torque/2/C1")], {}


def batch_out_of_order() -> Story:
    _, events = _start("load/P1")
    return [*events[3:], *events[:3]], {}


def misfits() -> Story:
    tablet, events = _start("load/P1")
    wrong = [
        tablet.write("step done", "torque/1/C1"),
        tablet.write("step done", "no/such/step"),
        tablet.write("step done", "sign"),
        tablet.write("correction", None, refers=SETUP, reason="refers to nothing"),
        tablet.open(),
    ]
    stray = Tablet("tab-2", setup=SETUP).write("note", None, text="before everything")
    return [stray, *events, *wrong], {}


def abandoned() -> Story:
    tablet, events = _start("load/P1")
    gone = tablet.write("abandoned", None, reason="wrong plate on the bench")
    return [*events, gone, tablet.write("step done", "load/P1")], {}


def note_closes_trouble() -> Story:
    tablet, events = _start("snug/C2")
    trouble = tablet.write("trouble", None, what="other", text="coolant on the bench")
    return [*events, trouble, tablet.write("note", None, text="wiped", closes=trouble.id)], {}


def open_trouble_at_the_end() -> Story:
    tablet, events = _start("sign")
    return [*events, tablet.write("trouble", None, what="other", text="scratch on P1")], {}


def _countersigned(person: str) -> tuple[list[Event], dict[str, Any]]:
    tablet, events = _start("sign")
    events = [*events, tablet.sign(events)]
    tablet.person = person
    covers = events[-1].data["covers"]
    data = {"meaning": "checked by", "covers": covers, "sealed": "c2VhbGVk", "key": "k1"}
    return [*events, tablet.write("countersigned", None, **data)], {}


def a_second_signature_awaited() -> Story:
    tablet, events = _start("sign")
    return [*events, tablet.sign(events)], {}


def countersigned_by_another() -> Story:
    return _countersigned("B-03")


def countersigned_by_the_same() -> Story:
    return _countersigned("B-01")


def countersignature_refused() -> Story:
    events, _ = _countersigned("B-03")
    return events, {events[-1].id: "refused"}


def a_pass_done_again() -> Story:
    events, _ = left_in_a_pass()
    tablet = _continue(events)
    return [*events, tablet.tighten("torque/2/C2"), tablet.tighten("torque/2/C1")], {}


def a_pull_tapped_by_mistake() -> Story:
    events, _ = a_pass_done_again()
    tablet = _continue(events)
    last = events[-1]
    return [
        *events,
        tablet.write("correction", None, refers=last.id, reason="tapped by mistake", undo=True),
    ], {}


def _continue(events: list[Event], person: str = "B-01") -> Tablet:
    """The first tablet again, with its numbers where the events left them."""
    tablet = Tablet("tab-1", setup=SETUP, person=person)
    tablet.n = max(event.n for event in events if event.tablet == "tab-1")
    return tablet


# Their sheet asks for a second person's signature.
COUNTERSIGNED = frozenset(
    {
        "a_second_signature_awaited",
        "countersigned_by_another",
        "countersigned_by_the_same",
        "countersignature_refused",
    }
)
STORIES: dict[str, Callable[[], Story]] = {
    name: story
    for name, story in list(globals().items())
    if callable(story) and getattr(story, "__annotations__", {}).get("return") == "Story"
}
