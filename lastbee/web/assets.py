"""The static files, read once, with one version for all of them in their addresses.

One version for the whole folder, not one a file, lets a script import its neighbours by
relative addresses and still have every file kept for good by the browser.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_FOLDER = Path(__file__).parent / "static"
_VERSION_LENGTH = 12

# Own table: what the system's says differs, and browsers refuse scripts under a wrong type.
_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webmanifest": "application/manifest+json",
}


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file: its bytes and its media type."""

    content: bytes
    media_type: str


@dataclass(frozen=True, slots=True)
class Assets:
    """All static files by name ("lastbee.css", "icons/app.svg"), and their common version."""

    files: Mapping[str, Asset]
    version: str

    def url(self, name: str) -> str:
        """Address of the file called `name`, which a browser may keep for good.

        Raises
        ------
        ValueError
            If there is no such file.
        """
        if name not in self.files:
            raise ValueError(f"there is no static file {name!r}")
        return f"/static/{self.version}/{name}"


def collect(folder: Path = _FOLDER) -> Assets:
    """Read every file below `folder` that a browser may ask for."""
    paths = sorted(path for path in folder.rglob("*") if path.suffix in _TYPES)
    files = {
        path.relative_to(folder).as_posix(): Asset(path.read_bytes(), _TYPES[path.suffix])
        for path in paths
    }
    digest = hashlib.sha256()
    for name, asset in files.items():
        digest.update(f"{name}\0{len(asset.content)}\0".encode())
        digest.update(asset.content)
    return Assets(MappingProxyType(files), digest.hexdigest()[:_VERSION_LENGTH])
