"""`clampbook upgrade`."""

from __future__ import annotations

from api.cli.output import plainly, say
from api.cli.shop import DataOption, opened, refuse_newer, scripts, settings_from
from api.storage import migrate


@plainly
def upgrade(data: DataOption = None) -> None:
    """Bring the database to the form that this version needs; every record is kept."""
    with opened(settings_from(data=data)) as database:
        refuse_newer(database)
        before = migrate.current(database)
        migrate.upgrade(database, scripts())
        after = migrate.current(database)
    done = (
        "was up to date already" if before == after else f"went from {before or 'empty'} to {after}"
    )
    say(f"The database {done}.")
