"""The forms that take secrets."""

from __future__ import annotations

import re

from tests.routes.office.visitor import Site

FIELD = re.compile(r'<input [^>]*name="(pin|password|\w+_yours)"[^>]*>')


def test_passwords_are_typed_unseen_and_left_to_password_managers(site: Site) -> None:
    with site.visitor() as stranger:
        door = stranger.get("/sign-in").text
    with site.visitor("B-03") as lead:
        lead.sign_in("B-03")
        person = lead.get("/crew/B-03").text
    fields = [found.group() for text in (door, person) for found in FIELD.finditer(text)]
    assert len(fields) >= 5
    for field in fields:
        assert 'type="password"' in field
        assert re.search(r'autocomplete="(current|new)-password"', field)
        assert "value=" not in field
        assert not re.search(r"onpaste|maxlength|readonly", field)
