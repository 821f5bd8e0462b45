"""One backup, for the running server: `python -m api.backing`, with its settings on standard input."""

from __future__ import annotations

import os
import sys

from api.backing.making import make_backup
from api.domain.errors import ClampbookError
from api.means import means_for
from api.security.checkpoint_file import open_notary
from api.settings import Settings

NICER = 10


def main() -> int:
    settings = Settings.model_validate_json(sys.stdin.readline())
    if hasattr(os, "nice"):
        os.nice(NICER)
    try:
        notary = open_notary(settings.keys, settings.checkpoints_folder)
        make_backup(settings, means_for(settings), notary)
    except (ClampbookError, OSError) as problem:
        sys.stderr.write(f"{problem}\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
