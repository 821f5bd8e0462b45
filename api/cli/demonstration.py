"""The demonstration shop: filled on first start, kept on every later one."""

from __future__ import annotations

import datetime as dt

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table

from api.analysing import OwnProcess
from api.cli.addresses import address_of
from api.cli.output import console, say, stop
from api.domain.people import Role
from api.means import means_for
from api.paths import share
from api.security.sealing import PublicKey
from api.security.tablet_keys import TabletKey
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import crew, tablets
from api.use_cases.demo import SETUPS, demo_people, fill
from api.use_cases.demo.founding import SHOP_NAME, who

VISITOR = "Bench of a visitor"


def fill_once(database: Database, settings: Settings) -> None:
    """Make the demonstration shop in an empty database; refuse to mix it with a real one."""
    uow = SqlUnitOfWork(database)
    if not crew.list_people(uow):
        _fill(database, settings)
        return
    with uow:
        name = uow.shop.meta().name
    if name != SHOP_NAME:
        stop(
            f"{settings.data} holds a shop of its own, not the demonstration. "
            "Serve it with 'clampbook serve', or name another folder with --data FOLDER."
        )


def bench_code(database: Database, settings: Settings) -> str:
    """Lets the visitor's own browser in as one more tablet."""
    uow = SqlUnitOfWork(database)
    with uow:
        lead = who(uow, Role.LEAD)
    return tablets.make_code(uow, means_for(settings), VISITOR, lead).code


def print_bench(settings: Settings, code: str) -> None:
    link = f"{address_of(settings)}/bench#enrol={tablets.plain_code(code)}"
    say(f"This browser as a tablet, once, within ten minutes:\n        {link}\n")


def print_badges() -> None:
    """Badges with the secrets that everybody knows."""
    table = Table(box=None, pad_edge=False, show_edge=False, header_style="")
    for heading in ("badge", "role", "PIN (bench)", "password (office)"):
        table.add_column(heading)
    for one in demo_people(share("seed_data")):
        table.add_row(one.person.badge, one.person.role.value, one.pin, one.password)
    console.print(table)
    console.print("\nStop with Ctrl+C.")


def _fill(database: Database, settings: Settings) -> None:
    means = means_for(settings, OwnProcess())
    columns = (TextColumn("Making the demonstration shop"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, TextColumn("{task.description}"), console=console) as bar:
        task = bar.add_task("", total=SETUPS)

        def show(done: int, total: int, words: str) -> None:
            bar.update(task, completed=done, total=total, description=words)

        fill(
            lambda: SqlUnitOfWork(database),
            means,
            PublicKey(means.opener.public),
            TabletKey,
            share("seed_data"),
            dt.datetime.now(dt.UTC).date(),
            progress=show,
        )
