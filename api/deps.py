"""What routes ask for, as annotated aliases."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from api.backing import Shelf
from api.operating import WriteWatch
from api.settings import Settings
from api.storage import migrate
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork, storage_errors
from api.use_cases.ports import Means, UnitOfWork
from api.use_cases.ports.notary import Notary
from api.use_cases.ports.office import OfficePen

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


@dataclass(frozen=True)
class Wiring:
    """What `create_app` made once for all requests."""

    settings: Settings
    database: Database
    means: Means
    notary: Notary
    office: OfficePen


def wiring(request: Request) -> Wiring:
    made: Wiring = request.app.state.wiring
    return made


WiringDep = Annotated[Wiring, Depends(wiring)]


def unit_of_work(request: Request, made: WiringDep) -> UnitOfWork:
    """Reading requests get the read-only engine, so that none of them can change anything."""
    return SqlUnitOfWork(made.database, read_only=request.method in SAFE_METHODS)


def reader(made: WiringDep) -> UnitOfWork:
    return SqlUnitOfWork(made.database, read_only=True)


def writer(made: WiringDep) -> UnitOfWork:
    return SqlUnitOfWork(made.database)


@dataclass(frozen=True)
class DatabaseFigures:
    """The engine as it reports itself, and the form its tables are at."""

    engine: str
    version: str
    form: str | None


def database_figures(made: WiringDep) -> DatabaseFigures:
    with storage_errors(), made.database.reader.connect() as connection:
        version = connection.dialect.server_version_info or ()
    return DatabaseFigures(
        made.database.url.get_backend_name(),
        ".".join(str(part) for part in version),
        migrate.current(made.database),
    )


def means_of(made: WiringDep) -> Means:
    return made.means


def shelf_of(made: WiringDep) -> Shelf:
    return Shelf(made.settings.backups_folder)


def office_of(made: WiringDep) -> OfficePen:
    return made.office


def writing_of(request: Request) -> WriteWatch:
    made: WriteWatch = request.app.state.writing
    return made


def origin_of(request: Request) -> str:
    """The one address under which browsers keep what is the shop's; empty where any will do."""
    return str(request.app.state.origin)


def welcome_of(request: Request) -> str:
    """Where the shop's certificate is to be had; empty where none is needed."""
    return str(request.app.state.welcome)


def settings_of(made: WiringDep) -> Settings:
    return made.settings


UowDep = Annotated[UnitOfWork, Depends(unit_of_work)]
ReaderDep = Annotated[UnitOfWork, Depends(reader)]
WriterDep = Annotated[UnitOfWork, Depends(writer)]
MeansDep = Annotated[Means, Depends(means_of)]
OfficeDep = Annotated[OfficePen, Depends(office_of)]
FiguresDep = Annotated[DatabaseFigures, Depends(database_figures)]
OriginDep = Annotated[str, Depends(origin_of)]
WelcomeDep = Annotated[str, Depends(welcome_of)]
SettingsDep = Annotated[Settings, Depends(settings_of)]
WritingDep = Annotated[WriteWatch, Depends(writing_of)]
ShelfDep = Annotated[Shelf, Depends(shelf_of)]
