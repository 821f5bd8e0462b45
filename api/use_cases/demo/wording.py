"""What the people of the demonstration shop write into their records."""

from __future__ import annotations

SECOND_ENTRY = (
    "read again with the pointer square",
    "chip under the stylus foot, wiped",
    "first time read from the side",
)
STILL_OUT = (
    "same value after setting the stand anew",
    "indicator zeroed again, same value",
)
JUDGEMENTS = {
    "accept": (
        "the later stock of this face covers it, told to the next operation",
        "part tolerance leaves room, first part will be measured",
    ),
    "rework": ("chip found between pad and receiver, cleaned, tighten anew",),
    "reject": ("pad of receiver 2 is bruised, plate goes to be ground",),
}
STUCK = ("chip in the hex, picked out", "turned hard, taken out, cleaned and greased by hand")
NOT_DOWN = ("burr on the saw cut", "chip under the part")
CORRECTIONS = ("digit typed wrong", "read one line too far", "noticed the slip when reading back")
UNDONE = ("rag left a thread behind, wiped again", "ticked before the brush was through")
ABANDONED = ("order stopped, parts go back to the saw",)
LATE_NOTES = ("one blank has a saw mark on its lower face, marked with paint",)
AFTERTHOUGHT = "receiver 3 clicked twice when the plate was let down; look at its pad"
BENCH_NOTES = ("air gun leaks at the joint", "coolant dripped on the bench, wiped")
