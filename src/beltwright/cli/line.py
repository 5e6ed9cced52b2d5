"""The command line itself: which commands there are, where each is found, and what a person sees when one fails.

A command's module is loaded when the command is called. What Beltwright refuses becomes one line on the error stream
and an exit code: 2 for what was typed or handed in, 3 for the book, 4 for a rule of the trade, 1 for all else.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from importlib import import_module
from types import MappingProxyType
from typing import Final, NoReturn

import click

from beltwright import __version__
from beltwright.errors import BeltwrightError, BookError, InputError, Refused

# heading in the list -> module -> its commands, each an attribute of that name there
COMMANDS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = MappingProxyType({
    "The book": ("book", ("new", "settings", "backup", "check", "changes", "export", "import-book")),
    "Drives": ("drives", ("template", "survey", "plant", "card", "working", "services", "sections")),
    "Readings": ("readings", ("note", "correct", "history", "readings")),
    "Listening": ("listening", ("listen", "rejudge", "clips", "phone-check")),
    "Judgement": ("findings", ("findings", "due")),
    "Root causes": ("why", ("why",)),
    "Starting": ("starting", ("run-up",)),
    "Whip": ("whip", ("whip",)),
    "Jobs": ("jobs", ("job",)),
    "On paper": ("papers", ("record", "labels")),
    "In a browser": ("serve", ("serve",)),
    "On a network": ("network", ("people", "token", "tls")),
})
WIDTH: Final = 80
_MODULE_OF: Final = {name: module for module, names in COMMANDS.values() for name in names}


class Commands(click.Group):
    """The commands by group, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every command, in the order of the list."""
        del ctx
        return list(_MODULE_OF)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """One command, or None; an attribute of its module, with `_` for `-`."""
        del ctx
        if cmd_name not in _MODULE_OF:
            return None
        module = import_module(f"beltwright.cli.{_MODULE_OF[cmd_name]}")
        command: click.Command = getattr(module, cmd_name.replace("-", "_"))
        return command

    def resolve_command(self, ctx: click.Context,
                        args: list[str]) -> tuple[str | None, click.Command | None, list[str]]:
        """The command asked for; a mistyped one is answered with the nearest."""
        if args and args[0] not in _MODULE_OF and not args[0].startswith("-"):
            import difflib

            near = difflib.get_close_matches(args[0], _MODULE_OF, n=1, cutoff=0.5)
            raise click.UsageError(f"no command {args[0]!r}{f': did you mean {near[0]}?' if near else ''}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list, a heading over each group."""
        longest = max(map(len, _MODULE_OF))
        for heading, (_, names) in COMMANDS.items():
            rows = []
            for name in names:
                command = self.get_command(ctx, name)
                assert command is not None, name
                rows.append((name.ljust(longest), command.get_short_help_str(limit=WIDTH)))
            with formatter.section(heading):
                formatter.write_dl(rows)


@click.group(cls=Commands, context_settings={
    "help_option_names": ["-h", "--help"], "terminal_width": WIDTH, "max_content_width": WIDTH})
@click.version_option(__version__, message="beltwright %(version)s")
def beltwright() -> None:
    """V-belt drives: set-to numbers, findings, jobs and their record.

    Start with `beltwright new` and `beltwright template`, fill the sheet in at
    the machines, and hand it in with `beltwright survey`. The plant's book is
    ./plant.book unless --book or BELTWRIGHT_BOOK names another.
    """


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run a command and leave with its exit code."""
    from beltwright.cli import screen

    # one drive's arithmetic needs no pool of threads, and starting one takes longer than the arithmetic
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    screen.prepare()
    try:
        code = beltwright.main(args=list(arguments) if arguments is not None else None, prog_name="beltwright",
                               standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as problem:
        code = _say(_usage(problem), 2)
    except click.Abort:
        code = _say("stopped; what was noted so far is kept", 130)
    except BeltwrightError as problem:
        code = _say(str(problem), exit_code(problem))
    except BrokenPipeError:   # the reader, `head` say, has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except Exception as problem:   # the last line of defence: a person never sees a traceback
        if "BELTWRIGHT_TRACE" in os.environ:
            raise
        code = _say(f"something is wrong inside ({type(problem).__name__}: {problem}); the book is as it was. "
                    "Please report it, with what BELTWRIGHT_TRACE=1 shows.", 1)
    sys.exit(code if isinstance(code, int) else 0)


def exit_code(problem: BeltwrightError) -> int:
    """2 for what was typed or handed in, 3 for the book, 4 for a rule of the trade, 1 for all else."""
    for kind, code in ((InputError, 2), (BookError, 3), (Refused, 4)):
        if isinstance(problem, kind):
            return code
    return 1


def _say(words: str, code: int) -> int:
    print(f"beltwright: {' '.join(words.split())}", file=sys.stderr)  # noqa: T201
    return code


def _usage(problem: click.ClickException) -> str:
    words = problem.format_message()
    context = problem.ctx if isinstance(problem, click.UsageError) else None
    return f"{words.rstrip('.')}; see {context.command_path} --help" if context else words
