"""Every record in words: what was done, with which value, and what was said about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from api.routes.office.formatting import unit


@dataclass(frozen=True)
class Told:
    """One event for a reader: a sentence, the value it recorded, and further lines."""

    what: str
    value: str = ""
    more: list[str] = field(default_factory=list)


STEP_WORDS: dict[str, str] = {
    "clean": "clean",
    "free": "screw turns freely by hand",
    "grease": "grease",
    "lock": "lock the plate down",
    "unlock": "unlock the plate",
    "zero": "zero the indicator",
    "read": "reading",
    "load": "part in and down",
    "snug": "snug",
    "torque": "tighten",
    "recheck": "re-check",
    "lift": "lift with the hoist",
    "gap": "no gap at the receiver",
    "touch": "second touch",
    "judge": "judgement",
    "sign": "signature",
    "machine": "into the machine",
    "ease": "ease to the finish torque",
    "unload": "unload",
}
_SURFACES = {"top": "top face", "underside": "underside", "whole": "whole plate"}


def subject_words(subject: dict[str, Any] | None) -> str:
    """clamp C1, receiver 2, plate underside; empty for a step about the setup itself."""
    if not subject:
        return ""
    kind, name = subject["type"], subject["id"]
    if kind == "plate":
        return f"plate, {_SURFACES.get(name, name)}"
    return f"{kind} {name}"


def step_words(step: dict[str, Any]) -> str:
    """What the plan asks for at this step, without its target."""
    words = STEP_WORDS.get(step["kind"], step["kind"])
    about = subject_words(step.get("subject"))
    if step["kind"] == "torque":
        words = f"{words}, pass {step['pass']}"
    if step["kind"] in ("read", "zero") and step.get("state"):
        words = f"{words}, {step['state']}"
    return f"{about}: {words}" if about else words


def step_id_words(step_id: str | None) -> str:
    """A step id for a reader without the plan: torque/1/C3 becomes "tighten, pass 1, C3"."""
    if not step_id:
        return "the setup as a whole"
    kind, *rest = step_id.split("/")
    words = STEP_WORDS.get(kind, kind)
    if kind == "torque" and len(rest) == 2:
        return f"{words}, pass {rest[0]}, {rest[1]}"
    return ", ".join([words, *rest])


def amount(value: dict[str, Any] | None) -> str:
    return f"{value['value']} {unit(value['unit'])}" if value else ""


def tell(kind: str, step: str | None, data: dict[str, Any]) -> Told:
    """The event in words; a kind of a later build is named as it is."""
    teller = _TELLERS.get(kind)
    return teller(step, data) if teller else Told(kind)


def _opened(step: str | None, data: dict[str, Any]) -> Told:
    facts, frozen = data["facts"], data["frozen"]
    due = [
        name for name, key in (("grease", "grease_due"), ("baseline", "baseline_due")) if facts[key]
    ]
    more = [
        f"design {data['design']} revision {data['revision']}, hash {data['revision_hash'][:12]}",
        f"torque tool {_item(frozen['tool'])}, indicator {_item(frozen['indicator'])}",
        "due: " + ", ".join(due) if due else "nothing due",
    ]
    if facts.get("second_touch"):
        more.append("second touch chosen: " + ", ".join(facts["second_touch"]))
    return Told(f"Setup opened on plate {data['plate']}", more=more)


def _item(item: dict[str, Any]) -> str:
    name = item.get("serial") or item.get("id") or "without a serial"
    due = f", due {item['due']}" if item.get("due") else ""
    return f"{name} ({item.get('title', 'no title')}{due})"


def _done(step: str | None, data: dict[str, Any]) -> Told:
    more = []
    if "good" in data or "scrap" in data:
        more.append(f"{data.get('good', 0)} good, {data.get('scrap', 0)} scrap")
    for key, words in (("grease", "grease"), ("tool", "torque tool"), ("indicator", "indicator")):
        if data.get(key):
            more.append(f"{words} {data[key]}")
    if data.get("moved") is False:
        more.append("did not move")
    return Told(f"Done: {step_id_words(step)}", more=more + _from_paper(data))


def _from_paper(data: dict[str, Any]) -> list[str]:
    return ["entered later from a paper sheet"] if data.get("source") == "paper" else []


def _tightened(step: str | None, data: dict[str, Any]) -> Told:
    ended = {"clicked": "it clicked", "slipped": "it slipped", "read": "read off the tool"}
    more = [f"torque tool {data['tool']}, {ended.get(data['after'], data['after'])}"]
    if data.get("shown"):
        more.append(f"the tool showed {amount(data['shown'])}")
    where = step_id_words(step) if step and step.startswith("ease") else f"pass {data['pass']}"
    return Told(
        f"Clamp {data['clamp']} tightened, {where}", amount(data["set"]), more + _from_paper(data)
    )


def _moved(step: str | None, data: dict[str, Any]) -> Told:
    told = f"Clamp {data['clamp']} still turned ({step_id_words(step)}): a mover"
    return Told(told, amount(data["set"]), [f"torque tool {data['tool']}"])


def _reading(step: str | None, data: dict[str, Any]) -> Told:
    source = {
        "dial": "set on the dial",
        "wedge": "sent by the gauge",
        "paper": "from a paper sheet",
    }
    more = [f"indicator {data['indicator']}, {source.get(data['source'], data['source'])}"]
    more.append(f"as entered: {data['raw']}")
    if data.get("reason"):
        more.append(f"reason: {data['reason']}")
    which = "second entry" if data["entry"] == 2 else "first entry"
    return Told(f"Point {data['point']}, {data['state']}, {which}", amount(data), more)


def _correction(step: str | None, data: dict[str, Any]) -> Told:
    if data.get("undo"):
        return Told(
            f"Correction: {step_id_words(step)} opened again", more=[f"reason: {data['reason']}"]
        )
    value = amount(data) if data.get("value") and data.get("unit") else ""
    return Told("Correction", value, [f"reason: {data['reason']}"])


def _note(step: str | None, data: dict[str, Any]) -> Told:
    return Told("Trouble closed by a note" if data.get("closes") else "Note", more=[data["text"]])


def _trouble(step: str | None, data: dict[str, Any]) -> Told:
    clamp = f", clamp {data['clamp']}" if data.get("clamp") else ""
    more = [data["text"]] if data.get("text") else []
    return Told(f"Trouble: {data['what']}{clamp} ({step_id_words(step)})", more=more)


def _paused(step: str | None, data: dict[str, Any]) -> Told:
    reasons = {
        "left": "the operator left",
        "break": "a break",
        "tablet restarted": "the tablet restarted",
    }
    return Told(f"Interrupted: {reasons.get(data['reason'], data['reason'])}")


def _taken_over(step: str | None, data: dict[str, Any]) -> Told:
    source = data.get("from") or "nobody"
    tablet = data.get("from_tablet")
    return Told(f"Taken over from {source}", more=[f"from tablet {tablet[:8]}"] if tablet else [])


def _judged(step: str | None, data: dict[str, Any]) -> Told:
    return Told(f"Judged: {data['judgement']}", more=[f"reason: {data['reason']}"])


def _signed(step: str | None, data: dict[str, Any]) -> Told:
    covers = data["covers"]
    more = [f"covers {len(covers['events'])} records, hash {covers['hash'][:12]}"]
    return Told(f"Signature: {data['meaning']}", more=more)


def _abandoned(step: str | None, data: dict[str, Any]) -> Told:
    return Told("Setup abandoned", more=[f"reason: {data['reason']}"])


def _resolved(step: str | None, data: dict[str, Any]) -> Told:
    words = f"Two answers settled: {step_id_words(data['step'])}"
    return Told(words, more=[f"kept record {data['keep'][:8]}", f"reason: {data['reason']}"])


def _added(step: str | None, data: dict[str, Any]) -> Told:
    value = amount(data) if data.get("value") and data.get("unit") else ""
    more = [f"reason: {data['reason']}"] if data.get("reason") else []
    if data.get("text"):
        more.append(str(data["text"]))
    return Told(f"Added after the signature: {data['adds']}", value, more)


_TELLERS: dict[str, Callable[[str | None, dict[str, Any]], Told]] = {
    "setup opened": _opened,
    "step done": _done,
    "clamp tightened": _tightened,
    "clamp moved on re-check": _moved,
    "reading taken": _reading,
    "correction": _correction,
    "note": _note,
    "trouble": _trouble,
    "paused": _paused,
    "taken over": _taken_over,
    "judged": _judged,
    "signed": _signed,
    "countersigned": _signed,
    "abandoned": _abandoned,
    "conflict resolved": _resolved,
    "after-signature addition": _added,
}
