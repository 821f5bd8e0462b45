"""Where a checkpoint is shown: on the system's page, on records and on paper."""

from __future__ import annotations

from pathlib import Path

from api.routes.office.formatting import short
from api.security.checkpoint_file import open_notary
from api.use_cases.checkpoints import make_checkpoint
from tests.routes.office.visitor import Site, Visitor


def test_the_newest_checkpoint_is_shown_and_printed(
    site: Site, lead: Visitor, tmp_path: Path
) -> None:
    notary = open_notary(tmp_path / "keys", tmp_path / "checkpoints")
    made = make_checkpoint(site.uow, site.means, notary, "test")
    page = lead.read("/system")
    assert made.head in page.text
    assert made.key in page.text
    with site.uow as uow:
        setup, plate = uow.setups.newest(1)[0].id, uow.plates.all()[0].serial
    for path in (f"/setups/{setup}", f"/plates/{plate}/sheet"):
        text = " ".join(lead.read(path).text.split())
        assert f"{made.count} records, head {short(made.head)}" in text, path
