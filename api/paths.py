"""Where the files lie that are not Python: the built front end, templates, migrations, seed data."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


def share(name: str) -> Path:
    """Folder `name` ("web/dist", "migrations", ...): in the wheel, or beside `api/` in a checkout."""
    packaged = PACKAGE / "_share"
    return (packaged if packaged.is_dir() else PACKAGE.parent) / name
