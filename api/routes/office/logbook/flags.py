"""Flags on records, in words that say what was odd."""

from __future__ import annotations

FLAG_WORDS = {
    "sent by another tablet": "sent by another tablet than the one that made it",
    "unknown person": "nobody of the crew carries this badge",
    "person inactive": "the person was no longer active",
    "role lacking": "the person's role does not cover this",
    "clock suspect": "the tablet's clock was wrong",
    "tool unknown": "the torque tool is not in the stores",
    "tool withdrawn": "the torque tool was withdrawn",
    "tool overdue": "the torque tool was overdue",
    "indicator unknown": "the indicator is not in the stores",
    "indicator withdrawn": "the indicator was withdrawn",
    "indicator overdue": "the indicator was overdue",
    "unknown plate": "this plate is not known",
    "plate of another design": "the plate is built to another design",
    "unknown revision": "this revision is not known",
    "revision differs": "the tablet's revision differs from the released one",
    "after signature": "came after the signature",
    "fits nothing": "fits no step of the setup; it is kept and changes nothing",
    "two answers": "two tablets answered this step; a person has to settle it",
    "gap": "records of this tablet before it are missing",
    "chain broken": "does not link to the tablet's record before it",
    "locked with open clamps": "the plate was locked with clamps still open",
    "out of order": "not the step that was next",
    "signed with open steps": "signed with steps still open",
    "second signature wanted": "a second person's signature is still wanted",
    "machined before the second signature": "machined before a second person had signed",
    "tablet revoked": "arrived after its tablet was revoked",
    "tablet forked": "its tablet had a copy: two devices wrote under one name",
}


def flag_words(flag: str) -> str:
    return FLAG_WORDS.get(flag, flag)
