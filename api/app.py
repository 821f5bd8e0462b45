"""The only place where the parts are wired together."""

from __future__ import annotations

import asyncio
import datetime as dt
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from sqlalchemy.engine import make_url
from starlette.concurrency import run_in_threadpool

from api.analysing import OwnProcess, Worker
from api.backing import Hourly, Shelf
from api.deps import Wiring
from api.domain.errors import Unavailable
from api.means import means_for
from api.operating import DiskWatch, RequestLog, WriteWatch
from api.paths import share
from api.routes import guards
from api.routes.api import router as json_api
from api.routes.api.hints import HeadWatch
from api.routes.api.openapi import DOCUMENT_PATH, describe
from api.routes.bench import router as bench
from api.routes.guards.read_only import ReadOnlyGuard
from api.routes.office import router as office
from api.routes.problems import install as install_problems
from api.routes.welcome import router as welcome
from api.security.authority import canonical_origin, welcome_origin
from api.security.checkpoint_file import open_notary
from api.security.office_key import load_office_key
from api.settings import Settings
from api.storage.engine import Database
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.checkpoints import make_due_checkpoint
from api.use_cases.ports import Analyser
from api.use_cases.records import judge_due_signatures

DUE_EVERY_S = 5.0
CHECKPOINT_LOOK_S = 600.0
log = logging.getLogger("clampbook.checkpoints")


def create_app(settings: Settings, analyser: Analyser | None = None) -> FastAPI:
    """The application over an existing, migrated shop; designs are computed in a process beside it."""
    means = means_for(settings, analyser or OwnProcess())
    notary = open_notary(settings.keys, settings.checkpoints_folder)
    wiring = Wiring(
        settings, Database(settings.database), means, notary, load_office_key(settings.keys)
    )
    app = FastAPI(
        title="Clampbook",
        version="1",
        openapi_url=DOCUMENT_PATH,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,  # its redirects repeat whatever host the request named
        lifespan=_lifespan,
    )
    app.state.wiring = wiring
    app.state.origin = canonical_origin(settings)
    app.state.welcome = welcome_origin(settings)
    app.state.watch = HeadWatch(
        lambda: SqlUnitOfWork(wiring.database, read_only=True), wiring.means
    )
    app.state.writing = WriteWatch(wiring.database, _disk(settings))
    install_problems(app)
    app.add_middleware(ReadOnlyGuard, why=app.state.writing.why)
    guards.install(app, settings.max_body_bytes, settings.sign_ins_per_min, app.state.origin)
    app.add_middleware(RequestLog)
    for router in (json_api, bench, office, welcome):
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=share("web/dist"), check_dir=False), name="static")
    describe(app)
    return app


def _hourly(settings: Settings) -> Hourly:
    every = dt.timedelta(hours=settings.backup_every_h)
    return Hourly(Shelf(settings.backups_folder), settings.model_dump_json(), every)


def _disk(settings: Settings) -> DiskWatch:
    file = make_url(settings.database)
    in_file = file.get_backend_name() == "sqlite" and file.database
    folders = [settings.data, *([Path(file.database or "").parent] if in_file else [])]
    return DiskWatch(folders, settings.least_free_bytes)


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    wiring: Wiring = app.state.wiring
    writing: WriteWatch = app.state.writing
    worker = Worker(
        writing.writer,
        lambda: SqlUnitOfWork(wiring.database, read_only=True),
        wiring.means,
    )
    backups = _hourly(wiring.settings)
    worker.start()
    backups.start()
    await _checkpoint(wiring, writing)
    tasks = [
        asyncio.create_task(app.state.watch.run()),
        asyncio.create_task(writing.run()),
        asyncio.create_task(_judge_due(wiring, writing)),
        asyncio.create_task(_checkpoint_daily(wiring, writing)),
    ]
    try:
        yield
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await run_in_threadpool(backups.stop)
        await run_in_threadpool(worker.stop)
        wiring.database.close()


async def _judge_due(wiring: Wiring, writing: WriteWatch) -> None:
    """Signatures whose PIN had to wait for a lock are compared when it ends."""
    while True:
        await asyncio.sleep(DUE_EVERY_S)
        with suppress(Unavailable):
            await run_in_threadpool(judge_due_signatures, writing.writer(), wiring.means)


async def _checkpoint_daily(wiring: Wiring, writing: WriteWatch) -> None:
    while True:
        await asyncio.sleep(CHECKPOINT_LOOK_S)
        await _checkpoint(wiring, writing)


async def _checkpoint(wiring: Wiring, writing: WriteWatch) -> None:
    """One a day, and at once where a shop or an epoch has none; a later look makes good a failure."""
    try:
        await run_in_threadpool(make_due_checkpoint, writing.writer(), wiring.means, wiring.notary)
    except Unavailable as problem:
        log.warning("no checkpoint was made: %s", problem.message)
