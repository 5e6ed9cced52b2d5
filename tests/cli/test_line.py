"""The command line as a whole: light to start, every command found, every failure one line and an exit code."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from beltwright import errors
from beltwright.cli import manual
from beltwright.cli.line import COMMANDS, exit_code
from beltwright.desk import prepare
from tests.cli.conftest import Run

HEAVY = ("numpy", "scipy", "sqlalchemy", "alembic", "fastapi", "starlette", "uvicorn", "jinja2", "typst", "segno",
         "xlsxwriter", "python_calamine", "cryptography", "argon2", "av", "soundfile", "matplotlib", "pandas")
NAMES = [name for _, names in COMMANDS.values() for name in names]


def loaded(code: str) -> set[str]:
    """The heavy packages in memory after some lines of Python in an interpreter of their own."""
    lines = f"import sys\n{code}\nprint()\nprint(*set({HEAVY}) & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True, check=True)
    return set(done.stdout.rsplit("\n", 2)[-2].split())


def test_the_list_kept_in_the_package_is_what_the_command_line_says() -> None:
    assert manual.LIST.read_text(encoding="ascii") == manual.top_help()


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"]])
def test_asked_for_nothing_it_lists_the_commands(arguments: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", "beltwright", *arguments], capture_output=True, text=True, check=True)
    assert done.stdout == manual.top_help()
    for name in NAMES:
        assert f"\n  {name} " in done.stdout


@pytest.mark.parametrize("code", [
    "import beltwright",
    "import runpy\nsys.argv = ['beltwright', '--help']\nrunpy.run_module('beltwright', run_name='__main__')",
    "import beltwright.cli.line as line\n"
    "for name in line._MODULE_OF: line.beltwright.get_command(line.click.Context(line.beltwright), name)",
])
def test_nothing_heavy_is_loaded_before_a_command_runs(code: str) -> None:
    assert loaded(code) == set()


def test_a_card_loads_no_table_maker_and_no_solver(plant: Run) -> None:
    # SciPy and SQLAlchemy would take longer to load than all the rest of a card
    code = ("from beltwright.cli.line import main\n"
            "try: main(['card', 'FAN-1'])\nexcept SystemExit as left: assert left.code == 0")
    assert loaded(code) == {"numpy"}


@pytest.mark.parametrize("name", NAMES)
def test_every_command_has_help_that_fits_the_screen(run: Run, name: str) -> None:
    said = run(name, "--help")
    assert said.code == 0
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.parametrize(("problem", "code"), [
    (errors.InputError, 2), (errors.UnitError, 2), (errors.SheetError, 2), (errors.BookMissing, 3),
    (errors.BookLocked, 3), (errors.Unknown, 3), (errors.Refused, 4), (errors.OutOfRange, 1), (errors.Infeasible, 1),
    (errors.NotKnown, 1)])
def test_exit_codes(problem: type[errors.BeltwrightError], code: int) -> None:
    assert exit_code(problem("so")) == code


@pytest.mark.parametrize(("arguments", "says"), [
    (["crad"], "beltwright: no command 'crad': did you mean card?; see beltwright --help\n"),
    (["xyzzy"], "beltwright: no command 'xyzzy'; see beltwright --help\n"),
    (["card"], "beltwright: Missing argument 'TAG'; see beltwright card --help\n"),
    (["card", "A", "--units", "metric"], "beltwright: Invalid value for '--units': 'metric' is not one of 'si', "
                                         "'inch'; see beltwright card --help\n"),
])
def test_a_slip_of_the_keys_is_one_line(run: Run, arguments: list[str], says: str) -> None:
    said = run(*arguments)
    assert (said.code, said.out, said.err) == (2, "", says)


def test_a_fault_of_ours_is_one_line_too(plant: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise KeyError("span")

    monkeypatch.setattr(prepare, "make_card", broken)
    said = plant("card", "FAN-1")
    assert said.code == 1
    assert said.err.startswith("beltwright: something is wrong inside (KeyError: 'span'); the book is as it was.")
    assert said.err.count("\n") == 1


def test_a_reader_that_has_had_enough_is_no_failure(plant: Run) -> None:
    command = f"{sys.executable} -m beltwright services | head -n 1"
    done = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_a_screen_of_plain_letters_gets_plain_letters(plant: Run) -> None:
    done = subprocess.run([sys.executable, "-m", "beltwright", "card", "FAN-1"], capture_output=True, check=True,
                          env={"PYTHONIOENCODING": "ascii", "PATH": "", "COLUMNS": "80"})
    text = done.stdout.decode("ascii")
    assert "run-in belts" in text
    assert "+ good" in text or "* note" in text
    assert "?" not in text.replace("all belts alike?", "").replace("above the rim?", "")


@pytest.mark.parametrize("asked", [
    ["settings"], ["plant"], ["card", "FAN-1"], ["working", "FAN-1"], ["working", "FAN-1", "deflection"], ["services"],
    ["sections"], ["history", "FAN-1"], ["findings"], ["findings", "FAN-1"], ["due"], ["job", "list", "--all"],
    ["job", "show", "FAN-1"], ["record", "FAN-1"], ["why", "FAN-1"]], ids=" ".join)
def test_what_is_shown_can_be_had_as_json(plant: Run, asked: list[str]) -> None:
    plant("job", "open", "FAN-1", "inspect")
    said = plant(*asked, "--json")
    assert said.code == 0
    assert json.loads(said.out)
