"""Copies of the shop: made while it works, checked before they count, thinned out, put back."""

from api.backing.hourly import Hourly
from api.backing.making import make_backup
from api.backing.manifest import Manifest
from api.backing.place import BackupFailed, Place
from api.backing.restoring import Restored, restore
from api.backing.shelf import Backup, Failure, Shelf

__all__ = [
    "Backup",
    "BackupFailed",
    "Failure",
    "Hourly",
    "Manifest",
    "Place",
    "Restored",
    "Shelf",
    "make_backup",
    "restore",
]
