"""The pages of docs/commands and the list of commands kept in the package, both made from the commands themselves.

    python -m beltwright.cli.manual docs/commands
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from beltwright.cli.line import COMMANDS, WIDTH, beltwright

LIST = Path(__file__).with_name("help.txt")


def top_help() -> str:
    """What `beltwright --help` says."""
    return _help(beltwright, _context(beltwright, "beltwright"))


def pages() -> Iterator[tuple[str, str]]:
    """Each page: its file name and text."""
    top = _context(beltwright, "beltwright")
    index = ["# Commands", "", "Made by `make docs` from the commands themselves.", "", "```text", top_help().rstrip(),
             "```"]
    for heading, (_, names) in COMMANDS.items():
        index += ["", f"## {heading}", ""]
        for name in names:
            command = beltwright.get_command(top, name)
            assert command is not None
            index.append(f"- [`{name}`]({name}.md): {command.get_short_help_str(WIDTH)}")
            yield f"{name}.md", "\n".join([f"# beltwright {name}", "", *_page(command, _context(command, name, top))])
    yield "README.md", "\n".join(index) + "\n"


def _page(command: click.Command, context: click.Context) -> Iterator[str]:
    yield from ("```text", _help(command, context).rstrip(), "```", "")
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner is not None
            yield from (f"## {context.command_path} {name}", "")
            yield from _page(inner, _context(inner, name, context))


def _context(command: click.Command, name: str, parent: click.Context | None = None) -> click.Context:
    # no environment, no login name: the pages are the same wherever they are made
    return click.Context(command, info_name=name, parent=parent, terminal_width=WIDTH, max_content_width=WIDTH,
                         help_option_names=["-h", "--help"])


def _help(command: click.Command, context: click.Context) -> str:
    return command.get_help(context) + "\n"


def write(folder: Path) -> None:
    """Write the pages, and the list of commands that `beltwright --help` prints."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in pages():
        (folder / name).write_text(text, encoding="utf-8")
    LIST.write_text(top_help(), encoding="ascii")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
