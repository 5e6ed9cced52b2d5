"""`beltwright` and `python -m beltwright`: hands over to the command line.

Asked for nothing but the list of commands, it prints the text kept beside the commands and loads nothing else, so that
the answer is there at once; a test holds that text equal to what the command line itself would say.
"""

import sys


def main() -> None:
    if sys.argv[1:] in ([], ["--help"], ["-h"]):
        with open(__file__.removesuffix("__main__.py") + "cli/help.txt", encoding="ascii") as text:
            sys.stdout.write(text.read())
        return
    from beltwright.cli.line import main as run

    run()


if __name__ == "__main__":
    main()
