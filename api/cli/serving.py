"""`clampbook demo` and `clampbook serve`."""

from __future__ import annotations

import secrets
from typing import Annotated

import typer

from api.app import create_app
from api.cli.addresses import print_address, welcome_of
from api.cli.demonstration import bench_code, fill_once, print_badges, print_bench
from api.cli.network import listen, run
from api.cli.output import plainly, say
from api.cli.shop import (
    DataOption,
    make_folder,
    refuse_newer,
    require_newest,
    scripts,
    settings_from,
)
from api.domain.people import Person, Role
from api.domain.secrets import is_guessable_pin
from api.means import means_for
from api.security.authority import open_certificate
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases import crew

FIRST_BADGE = "B-01"
FIRST_START = Person(badge="first-start", role=Role.OWNER, active=True)
PortOption = Annotated[
    int | None,
    typer.Option(
        min=1, max=65535, help="Port  [default: 8000; over https 8443]", show_default=False
    ),
]
HostOption = Annotated[
    str | None,
    typer.Option(help="Address to listen on  [default: 127.0.0.1]", show_default=False),
]


NameOption = Annotated[
    str | None,
    typer.Option(
        help="Host name or address of the shop's one origin  [default: this machine's name]",
        show_default=False,
    ),
]


@plainly
def demo(
    port: PortOption = None,
    data: DataOption = None,
    host: HostOption = None,
    name: NameOption = None,
) -> None:
    """Make the demonstration shop, if it is not there yet, and serve it."""
    settings = settings_from(port=port, data=data, host=host, name=name)
    make_folder(settings)
    with listen(settings) as doors:
        certificate = open_certificate(settings)
        told = welcome_of(settings, certificate)
        database = Database(settings.database)
        try:
            refuse_newer(database)
            migrate.upgrade(database, scripts())
            fill_once(database, settings)
            code = bench_code(database, settings)
        finally:
            database.close()
        print_address(settings, told)
        print_bench(settings, code)
        print_badges()
        run(create_app(settings), doors, certificate, told)


@plainly
def serve(
    port: PortOption = None,
    data: DataOption = None,
    host: HostOption = None,
    name: NameOption = None,
) -> None:
    """Serve the shop in the data folder; the first start makes it."""
    settings = settings_from(port=port, data=data, host=host, name=name)
    make_folder(settings)
    with listen(settings) as doors:
        certificate = open_certificate(settings)
        told = welcome_of(settings, certificate)
        database = Database(settings.database)
        try:
            if migrate.current(database) is None:
                migrate.upgrade(database, scripts())
            require_newest(database)
            _first_badge(database, settings)
        finally:
            database.close()
        print_address(settings, told)
        run(create_app(settings), doors, certificate, told)


def _random_pin() -> str:
    while is_guessable_pin(pin := f"{secrets.randbelow(10_000):04d}"):
        pass
    return pin


def _first_badge(database: Database, settings: Settings) -> None:
    """A shop without people gets its owner, whose secrets are printed this once."""
    uow, means = SqlUnitOfWork(database), means_for(settings)
    if crew.list_people(uow):
        return
    password, pin = secrets.token_urlsafe(12), _random_pin()
    crew.save_person(
        uow, means, Person(badge=FIRST_BADGE, role=Role.OWNER, active=True), FIRST_START
    )
    crew.set_password(uow, means, FIRST_BADGE, password, FIRST_START)
    crew.set_pin(uow, means, FIRST_BADGE, pin, FIRST_START)
    say(
        f"This shop is new. Its owner is badge {FIRST_BADGE}, password {password}, PIN {pin}.\n"
        "Write them down: they are not shown again. Add people under Crew, designs with "
        "'clampbook load FILE'."
    )
