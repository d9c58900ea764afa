"""Small stand-ins for the layers below the command line, shared by its tests."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pytest
    from rich.console import Console


class FakeJob(str):
    """A job that is only its name, and has visits or none."""

    visits: tuple[str, ...] = ()


@dataclass(frozen=True)
class FakePlan:
    """A plan that is only its words."""

    words: str
    progress: str | None = None


class Below:
    """What stands in for the layers below the command line; it keeps what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[Any, ...]] = []
        self.read: Callable[[], None] = lambda: None
        self.compute: Callable[[], None] = lambda: None
        self.write: Callable[[Path], None] = lambda path: None
        self.visits: tuple[str, ...] = ()

    def read_job(self, path: Path) -> FakeJob:
        self.read()
        job = FakeJob(f"job of {path.name}")
        job.visits = self.visits
        return job

    def make_plan(self, job: str, *, seed: int, colonies: int, progress: Any = None) -> FakePlan:
        self.asked.append((job, seed, colonies))
        progress("Founding colonies", 0.5)
        self.compute()
        return FakePlan(f"plan of {job}", f"progress of {job}" if self.visits else None)

    def make_progress(self, job: str, *, seed: int, colonies: int, progress: Any = None) -> str:
        self.asked.append((job, seed, colonies))
        progress("Taking in the visits", 0.5)
        self.compute()
        return f"progress of {job}"

    def print_plan(self, plan: FakePlan, console: Console) -> None:
        console.print(f"[bold]{plan.words}[/bold] at width {console.width}")
        if plan.progress is not None:
            console.print(f"then {plan.progress}")

    def print_progress(self, progress: str, console: Console) -> None:
        console.print(f"[bold]{progress}[/bold] at width {console.width}")

    def write_pdf(self, answer: FakePlan | str, path: Path) -> None:
        self.write(path)
        path.write_bytes(f"%PDF- {answer}".encode())


def stand_in_below(monkeypatch: pytest.MonkeyPatch) -> Below:
    """Put the stand-ins in the place of the true modules for one test."""
    layers = Below()
    stand_ins: dict[str, dict[str, object]] = {
        "lastbee.jobs.jobfile": {"read_job": layers.read_job},
        "lastbee.jobs.jobfile_schema": {"json_schema": lambda: {"title": "job", "unit": "°C"}},
        "lastbee.jobs.planner": {"make_plan": layers.make_plan},
        "lastbee.documents.terminal": {"print_plan": layers.print_plan},
        "lastbee.jobs.tracker": {"make_progress": layers.make_progress},
        "lastbee.documents.progress_terminal": {"print_progress": layers.print_progress},
        "lastbee.documents.as_json": {
            "plan_to_json": lambda plan: json.dumps({"plan": plan.words}),
            "progress_to_json": lambda progress: json.dumps({"progress": progress}),
        },
        "lastbee.documents.pdf": {"write_pdf": layers.write_pdf},
    }
    for name, members in stand_ins.items():
        module = ModuleType(name)
        module.__dict__.update(members)
        monkeypatch.setitem(sys.modules, name, module)
    return layers
