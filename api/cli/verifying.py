"""`clampbook verify`: does everything that was written down still fit together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated

import typer

from api.cli.output import complaints, plainly, say, stop
from api.cli.shop import DataOption, current, settings_from
from api.cli.watching import watched
from api.domain.checkpoints import Checkpoint
from api.domain.dump import read_lines
from api.domain.errors import BadInput
from api.domain.proof import Examination, Fault, Findings, Line
from api.domain.proof.witnesses import read_outside
from api.security.checkpoint_file import TORN_FILE, CheckpointFile
from api.security.signing import KnownKeys
from api.security.tablet_keys import TabletKeys
from api.settings import Settings
from api.storage import rows, triggers
from api.storage.unit_of_work import SqlUnitOfWork
from api.use_cases.proof import check_projections

MOST_SHOWN = 10


@plainly
def verify(
    file: Annotated[
        Path | None, typer.Argument(help="A dump  [default: the shop itself]", show_default=False)
    ] = None,
    data: DataOption = None,
    checkpoints: Annotated[
        Path | None,
        typer.Option(help="Folder of checkpoints to compare with", show_default=False),
    ] = None,
) -> None:
    """Follow every hash, chain, signature and checkpoint; 1 at the first row that does not fit."""
    settings = settings_from(data=data, checkpoints=checkpoints)
    outside = CheckpointFile(settings.checkpoints_folder)
    alone = file is not None and data is None and settings.checkpoints is None
    try:
        if file is None:
            found = verify_live(settings, outside)
        else:
            found = verify_dump(file, None if alone else outside, settings)
    except Fault as fault:
        complaints.print(f"{fault}.", markup=False, style="bold")
        stop(fault.todo)
    for sentence in told(found, outside):
        say(sentence)


def verify_live(settings: Settings, outside: CheckpointFile) -> Findings:
    """The database in one snapshot, with its guards and its projections."""
    keys = KnownKeys([outside.folder, settings.keys], take_stated=False)
    with current(settings) as database, SqlUnitOfWork(database, read_only=True) as uow:
        try:
            triggers.assert_present(uow.connection)
        except triggers.MissingTrigger as missing:
            raise Fault("The database", f"is not guarded: {missing}") from None
        found = examine(rows.lines(uow.connection), keys, read_outside(outside.lines()))
        check_projections(uow, rows.pulls(uow.connection))
    return found


def verify_dump(file: Path, outside: CheckpointFile | None, settings: Settings) -> Findings:
    """Without checkpoints from outside, a dump's own public keys are taken as it states them."""
    folders = [] if outside is None else [outside.folder, settings.keys]
    keys = KnownKeys(folders, take_stated=outside is None)
    published = None if outside is None else read_outside(outside.lines())
    return examine(dump_lines(file), keys, published)


def examine(lines: Iterable[Line], keys: KnownKeys, outside: list[Checkpoint] | None) -> Findings:
    examination = Examination(TabletKeys().signed, keys.signed, outside)
    for line in watched(lines, "looked at"):
        if line["line"] == "signing key":
            keys.state(line["public"])
        examination.take(line)
    return examination.finish()


def dump_lines(file: Path) -> Iterator[Line]:
    """The lines of a dump file; raises `BadInput` where it is none."""
    with file.open(encoding="utf-8", newline="\n") as texts:
        try:
            yield from read_lines(texts)
        except UnicodeDecodeError:
            raise BadInput(f"{file} is not text in UTF-8, so it is no dump.") from None


def told(found: Findings, outside: CheckpointFile) -> Iterator[str]:
    """What was found, in calm sentences."""
    yield "Everything fits together."
    yield (
        f"{_counted(found.events, 'event')} and {_counted(found.entries, 'entry', 'entries')} of "
        f"the journal; {_counted(found.tablets, 'tablet')}."
    )
    yield from _gaps(found)
    where = f" in {outside.path}" if found.outside else ""
    newest = f"; the newest is of {found.newest.at}" if found.newest else ""
    yield f"Met: {_counted(found.met, 'checkpoint')}{where}{newest}."
    if not found.outside:
        yield (
            "Not compared with checkpoints kept elsewhere: only these show whether the whole "
            "was written anew or its end cut off. Name their folder with --checkpoints."
        )
    if found.before_journal:
        yield f"From before the journal: {_counted(found.before_journal, 'verdict or set-aside text')}."
    if found.earlier:
        yield f"{_counted(len(found.earlier), 'checkpoint')} of an earlier epoch, beyond what was restored:"
        for one in found.earlier[:MOST_SHOWN]:
            yield f"  {one.at}, {one.count} records, epoch {one.epoch}"
    torn = outside.torn()
    if found.outside and torn:
        yield f"{_counted(torn, 'half-written line')} in {TORN_FILE}, from a failure of power."


def _gaps(found: Findings) -> Iterator[str]:
    if not found.gaps:
        yield "No tablet's numbers have a gap."
        return
    yield f"{_counted(len(found.gaps), 'gap')}; these events have not come (yet):"
    for tablet, first, last in found.gaps[:MOST_SHOWN]:
        yield (
            f"  tablet {tablet}, {first} to {last}"
            if last > first
            else f"  tablet {tablet}, {first}"
        )


def _counted(count: int, noun: str, more: str = "") -> str:
    return f"{count} {noun if count == 1 else more or noun + 's'}"
