"""The JSON form of a setup's state: for the API, the records and the shared test vectors."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from api.domain.setups.current import causes, counted_steps, current, unjudged
from api.domain.setups.signing import unsigned_additions
from api.domain.setups.state import Setup


def to_json(setup: Setup) -> dict[str, Any]:
    opened = setup.opened or {}
    counted = counted_steps(setup)
    return {
        "setup": setup.id,
        "plate": opened.get("plate"),
        "design": opened.get("design"),
        "revision": opened.get("revision"),
        "opened_by": setup.opened_by,
        "opened_at": setup.opened_at,
        "owner": {"tablet": setup.owner_tablet, "person": setup.owner_person},
        "phase": setup.phase,
        "paused": setup.paused,
        "current": current(setup),
        "done": sum(not setup.steps[step["id"]].undone for step in counted) if setup.steps else 0,
        "of": len(counted),
        "round": setup.round,
        "attempt": setup.attempt,
        "steps": {key: _status(setup, key) for key in setup.steps},
        "readings": {key: asdict(value) for key, value in setup.readings.items()},
        "movers": {str(key): value for key, value in setup.movers.items()},
        "pulls": [asdict(one) for one in setup.pulls],
        "troubles": [asdict(one) for one in setup.troubles],
        "notes": setup.notes,
        "restarts": [asdict(one) for one in setup.restarts],
        "judgement": asdict(setup.judgement) if setup.judgement else None,
        "judgements": [asdict(one) for one in setup.judgements],
        "causes": causes(setup),
        "unjudged": unjudged(setup),
        "signatures": [asdict(one) for one in setup.signatures],
        "after_signature": setup.after_signature,
        "unsigned_additions": unsigned_additions(setup),
        "flags": [{"event": event, "flag": flag} for event, flag in setup.flags],
        "odd": setup.odd,
    }


def _status(setup: Setup, step_id: str) -> dict[str, Any]:
    status = setup.steps[step_id]
    return {
        "state": status.state,
        "event": status.event,
        "tablet": status.tablet,
        "person": status.person,
        "at": status.at,
        "answers": status.answers,
    }
