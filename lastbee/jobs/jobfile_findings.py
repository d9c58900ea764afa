"""The problems of a job file, gathered so that one run names them all."""

from __future__ import annotations

from dataclasses import dataclass, field

from lastbee.errors import Problem


@dataclass(slots=True)
class Findings:
    """The problems of a file so far, and the keys that are already known to be wrong."""

    wrong: frozenset[str] = frozenset()
    problems: list[Problem] = field(default_factory=list)

    def add(self, key: str, found: object, mend: str) -> None:
        """Note a problem of `key`; `found` is None for a key that is missing."""
        self.problems.append(Problem(key, found, mend))

    def miss(self, key: str, mend: str) -> None:
        """Note that `key` is missing, once, and not if it is there and wrong already."""
        parts = key.split(".")
        if not self.is_wrong(*(".".join(parts[:n]) for n in range(1, len(parts) + 1))):
            self.add(key, None, mend)
            self.wrong |= {key}

    def is_wrong(self, *keys: str) -> bool:
        """Whether any of `keys` is known to be wrong."""
        return any(key in self.wrong for key in keys)

    def is_wrong_in(self, table: str) -> bool:
        """Whether any key of `table` is known to be wrong."""
        return any(key.startswith(f"{table}.") for key in self.wrong)
