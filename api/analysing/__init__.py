"""Who computes designs: this process, one of its own, and the worker that keeps it busy."""

from api.analysing.here import Here
from api.analysing.own_process import OwnProcess
from api.analysing.worker import Worker

__all__ = ["Here", "OwnProcess", "Worker"]
