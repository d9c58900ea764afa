"""What a person needs to write a first job file: its schema and a commented example."""

from __future__ import annotations

import click

from lastbee.cli.output import writing_out


@click.command()
def schema() -> None:
    """Print the JSON Schema of the job file."""
    import json

    from lastbee.jobs.jobfile_schema import json_schema

    with writing_out():
        click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))


@click.command()
def example() -> None:
    """Print a commented job file to start from."""
    from importlib.resources import files

    text = files("lastbee.jobs").joinpath("starter.toml").read_text(encoding="utf-8")
    with writing_out():
        click.echo(text, nl=not text.endswith("\n"))
