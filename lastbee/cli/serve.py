"""`lastbee serve`: the firm's record in a browser, on this computer or for the crew's phones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lastbee.cli.options import WholeNumber
from lastbee.cli.output import writing_out
from lastbee.cli.record_file import desk_of, now, open_book, record_option
from lastbee.errors import InvalidInput, Problem

if TYPE_CHECKING:
    from lastbee.cli.options import Misread
    from lastbee.cli.serving import Door
    from lastbee.store.book import Book

THIS_COMPUTER = "127.0.0.1"
PORT = WholeNumber(0, 65_535)
USUAL_PORT = 8765

port_option = click.option(
    "--port",
    metavar="N",
    type=PORT,
    default=USUAL_PORT,
    show_default=True,
    help="Port to be reached at; 0 takes any that is free.",
)
"""The option that names the port."""


@click.command(short_help="Open the firm's record in a browser.")
@record_option
@port_option
@click.option(
    "--host",
    metavar="ADDRESS",
    default=THIS_COMPUTER,
    show_default=True,
    help="Address to be reached at; 0.0.0.0 lets phones in, by a joining link.",
)
@click.option(
    "--certificate",
    "certificate_path",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Certificate (PEM), so that phones can work without signal.",
)
@click.option(
    "--key",
    "key_path",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Private key of the certificate (PEM).",
)
@click.option(
    "--new-link",
    "is_new_link",
    is_flag=True,
    help="Make a new joining link, which shuts every device out.",
)
def serve(
    record_path: Path | None,
    port: int | Misread,
    host: str,
    certificate_path: Path | None,
    key_path: Path | None,
    is_new_link: bool,
) -> None:
    """Serve the firm's record as web pages until Ctrl-C.

    On a first start the record is made. Forecasts are computed in the background.
    """
    from lastbee.cli.serving import Door, checked_certificate, open_door

    problems: list[Problem] = []
    port_number = PORT.checked("--port", port, problems)
    if (certificate_path is None) != (key_path is None):
        missing = "--key" if key_path is None else "--certificate"
        problems.append(Problem(missing, None, "give --certificate and --key together"))
    if problems:
        raise InvalidInput(problems)
    certificate = checked_certificate(certificate_path, key_path)
    with open_book(record_path, is_made=True) as book, open_door(host, port_number) as listening:
        door = Door(listening, host, certificate)
        token = _token(book, door, is_new_link=is_new_link)
        _tell(book, door, token)
        _run(book, door, token)
    _say(f"Stopped. Everything is in {book.path}")


def _token(book: Book, door: Door, *, is_new_link: bool) -> str | None:
    """Secret of the joining link, made anew if asked for; None where nobody can join."""
    from lastbee.office.joining import joining_secret, make_new_link

    if is_new_link:
        make_new_link(book)
        _say("Every device is shut out, and joins anew with the link that --host prints.\n")
    return None if door.is_on_this_computer else joining_secret(book)


def _run(book: Book, door: Door, token: str | None) -> None:
    from lastbee.cli.serving import run_until_stopped
    from lastbee.office.forecaster import Forecaster
    from lastbee.web.app import build_app

    desk = desk_of(book)
    forecaster = Forecaster(desk.queue)
    desk.heard = forecaster.nudge
    app = build_app(desk, forecaster, clock=now, token=token, hosts=door.names)
    run_until_stopped(app, door)


def _tell(book: Book, door: Door, token: str | None) -> None:
    """Say where the record is and how to reach it."""
    _say(f"Record   {book.path}\nPages    {door.address}\nCtrl-C stops it.")
    if token is None:
        return
    from lastbee.cli.serving import qr_of

    link = f"{door.address}join/{token}"
    _say(f"\nPhones join with this link; whoever has it can read and write everything:\n{link}\n")
    if picture := qr_of(link):
        _say(picture)
    if door.certificate is None:
        _say(
            "Without --certificate and --key a phone cannot keep the pages for where there is no"
            "\nsignal, and others on the same network can read along."
        )


def _say(text: str) -> None:
    with writing_out():
        click.echo(text)
