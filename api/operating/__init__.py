"""Keeping the server running well: its log, the room on its disk, whether it can write, its end."""

from api.operating.disk import DiskWatch
from api.operating.ending import EndingServer
from api.operating.logs import install as install_log
from api.operating.requests import RequestLog
from api.operating.writing import WriteWatch

__all__ = ["DiskWatch", "EndingServer", "RequestLog", "WriteWatch", "install_log"]
