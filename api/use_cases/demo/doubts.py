"""What the shop's lead finds unsettled on the first morning, beside the overdue wrench."""

from __future__ import annotations

from api.use_cases.demo import wording
from api.use_cases.demo.scene import Scene
from api.use_cases.demo.tablet import BUILD
from api.use_cases.records.accepting import BY_CALLER, accept_events

THOUGHT_AGAIN_S = 540.0


def leave(scene: Scene) -> None:
    """A note about the last finished setup, written when it had long been signed."""
    finished = [
        one
        for one in scene.uow.setups.newest(20)
        if one.phase == "finished" and one.signature == "confirmed" and one.person
    ]
    if not finished:
        return
    setup, tablet = finished[0], scene.tablets[0]
    tablet.now = max(tablet.now, scene.clock.now())
    tablet.pass_time(THOUGHT_AGAIN_S)
    data = {"adds": "note", "text": wording.AFTERTHOUGHT}
    tablet.write(setup.id, "after-signature addition", None, setup.person or "", data)
    at = tablet.next_push or tablet.now
    scene.clock.set(at)
    texts = tablet.take(at)
    signs = tablet.signed(texts)
    accept_events(scene.uow, scene.means, tablet.id, BUILD, texts, signs, policy=BY_CALLER)
