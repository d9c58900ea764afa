"""What serving takes: a socket, a certificate, a server that stops cleanly."""

from __future__ import annotations

import contextlib
import errno
import io
import ipaddress
import signal
import socket
import ssl
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

from lastbee.errors import FileProblem, InvalidInput, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from starlette.applications import Starlette

ANY_ADDRESS = ("0.0.0.0", "::", "")  # noqa: S104  (recognised, not bound to)
# Kept for documentation (RFC 5737): no packet is sent to it, the system only picks the way.
_SOMEWHERE_ELSE = ("192.0.2.1", 9)
_GRACE_S = 2
_BLOCKS = "▀▄█"


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate and its private key, both PEM files that were looked at."""

    certificate_path: Path
    key_path: Path


@dataclass(frozen=True, slots=True)
class Door:
    """Where the pages are reached: a listening socket, the address asked for, certificate."""

    listening: socket.socket
    host: str
    certificate: Certificate | None = None

    @property
    def is_on_this_computer(self) -> bool:
        """Whether nobody but this computer can knock."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False

    @property
    def name(self) -> str:
        """The name or number that others reach it by."""
        return _own_address() if self.host in ANY_ADDRESS else self.host

    @property
    def names(self) -> tuple[str, ...]:
        """Every name it may be asked for by."""
        if self.is_on_this_computer:
            return ()
        own = socket.gethostname()
        return tuple(dict.fromkeys((self.name, own, f"{own.split('.')[0]}.local")))

    @property
    def address(self) -> str:
        """The address for a browser, with a slash at its end."""
        scheme = "http" if self.certificate is None else "https"
        name = f"[{self.name}]" if ":" in self.name else self.name
        return f"{scheme}://{name}:{self.listening.getsockname()[1]}/"


@contextlib.contextmanager
def open_door(host: str, port: int) -> Iterator[socket.socket]:
    """Listen at an address.

    Raises
    ------
    InvalidInput
        If that cannot be; the problem names the option to change.
    """
    try:
        found = socket.getaddrinfo(host or None, port, type=socket.SOCK_STREAM)[0]
    except (OSError, UnicodeError) as error:
        raise InvalidInput([Problem("--host", host, _NO_HOST)]) from error
    with socket.socket(found[0], socket.SOCK_STREAM) as listening:
        if sys.platform != "win32":
            # There it would let two programs share one port.
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind(found[4])
            listening.listen(128)
        except OSError as error:
            raise InvalidInput([_shut(error, host, port)]) from error
        yield listening


_NO_HOST = "give an address of this computer, or leave it out to serve this computer alone"


def checked_certificate(certificate_path: Path | None, key_path: Path | None) -> Certificate | None:
    """Look at a certificate and its key; None where none is named.

    Raises
    ------
    FileProblem
        If they cannot be read, or do not belong together.
    """
    if certificate_path is None or key_path is None:
        return None
    for path in (certificate_path, key_path):
        try:
            with path.open("rb"):
                pass
        except (OSError, ValueError) as error:
            cause = error if isinstance(error, OSError) else OSError(errno.ENOENT, str(error))
            raise FileProblem.cannot_read(path, cause) from error
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(
            certificate_path, key_path, password=_no_password
        )
    except (ssl.SSLError, OSError, ValueError) as error:
        raise FileProblem(
            certificate_path,
            f"is no certificate that {key_path.name} is the key of",
            "give a certificate and its own key, both PEM files, the key without a password",
        ) from error
    return Certificate(certificate_path, key_path)


def run_until_stopped(app: Starlette, door: Door) -> None:
    """Serve until Ctrl-C, or until the system asks the program to end."""
    import uvicorn

    held = door.certificate
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        lifespan="on",
        timeout_graceful_shutdown=_GRACE_S,
        ssl_certfile=None if held is None else held.certificate_path,
        ssl_keyfile=None if held is None else held.key_path,
    )
    server = uvicorn.Server(config)
    # The server hands its signals on once it is down; this one would end us at once.
    before = signal.signal(signal.SIGTERM, _interrupt)
    try:
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[door.listening])
    finally:
        signal.signal(signal.SIGTERM, before)


def qr_of(link: str) -> str:
    """Draw a link as a QR code in letters; empty where the output lacks them."""
    import segno

    try:
        _BLOCKS.encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except (UnicodeError, LookupError):
        return ""
    drawn = io.StringIO()
    segno.make(link, error="m", micro=False).terminal(out=drawn, compact=True)
    return drawn.getvalue()


def _interrupt(*_: object) -> NoReturn:
    raise KeyboardInterrupt


def _no_password() -> str:
    return ""


def _shut(error: OSError, host: str, port: int) -> Problem:
    """Word why an address cannot be listened at."""
    if error.errno == errno.EADDRINUSE:
        mend = "give another port, since a program is there already (perhaps another `lastbee`)"
        return Problem("--port", port, mend)
    if error.errno in (errno.EACCES, errno.EPERM):
        return Problem("--port", port, "give a port above 1023, which needs no permission")
    return Problem("--host", host, _NO_HOST)


def _own_address() -> str:
    """The number by which this computer is reached on its network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_SOMEWHERE_ELSE)
        except OSError:
            return socket.gethostname()
        return str(way.getsockname()[0])
