"""`python -m api` is the `clampbook` command."""

from api.cli import app

app(prog_name="clampbook")
