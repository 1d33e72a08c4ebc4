"""The command line: `coutil`, its commands, and how every run ends.

Exit codes: 0 all well, 1 some check fails (outputs written), 2 bad input, 3 a fault of the program itself,
130 stopped from the keyboard.  Never a traceback, unless COUTIL_TRACEBACK is set by who mends the program.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence

import click

from coutil import __version__
from coutil.commands import (
    alter,
    check,
    demo,
    draft,
    export,
    grade,
    guide,
    import_,
    lay,
    measure,
    measures,
    pack,
    papers,
    printing,
    rank,
    serve,
)
from coutil.errors import CoutilError

BAD_INPUT = 2
OWN_FAULT = 3
STOPPED = 130
CLOSED_PIPE = 141
LONGEST_SENTENCE = 290  # Letters of an error; with its first word under 300.
# Packages that are installed only where asked for, by the extra that brings them.
EXTRAS = {"psycopg": "postgres"}


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="coutil")
def commands() -> None:
    """Made-to-measure corset patterns: from a client's chart to a checked, printed pattern.

    Begin with `coutil demo`, then try `coutil alter nearest CHART --out DIR` with a chart of your own.
    A corset is a garment, not an orthosis: pain, numbness, tingling or breathlessness mean take it off.
    """


MODULES = (
    demo, draft, alter, check, printing, pack, papers, guide, lay, measures, measure, import_, export, rank, grade,
    serve,
)  # fmt: skip
for module in MODULES:
    commands.add_command(module.command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Runs one command and leaves the process with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal of another encoding shows a mark instead of ending the run.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and gives its exit code; every trouble becomes one sentence on stderr."""
    try:
        code = commands.main(args=arguments, prog_name="coutil", standalone_mode=False)
        sys.stdout.flush()
    except Exception as error:
        return _told(error)
    except KeyboardInterrupt:
        click.echo("Stopped.", err=True)
        return STOPPED
    except SystemExit:
        # Only click leaves this way, when whoever read the output has seen enough.
        return CLOSED_PIPE
    return code if isinstance(code, int) else 0


def _told(error: Exception) -> int:
    """Says what went wrong, and gives the exit code."""
    if isinstance(error, click.Abort):
        click.echo("Stopped.", err=True)
        return STOPPED
    if isinstance(error, BrokenPipeError):
        # Whoever read the output has seen enough; nothing may be written on leaving.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CLOSED_PIPE
    if isinstance(error, click.ClickException):
        click.UsageError(_one_line(error.format_message()), getattr(error, "ctx", None)).show()
        return BAD_INPUT
    if os.environ.get("COUTIL_TRACEBACK"):
        raise error
    sentence, code = _sentence(error)
    click.echo(f"Error: {_one_line(sentence)}", err=True)
    return code


def _one_line(sentence: str) -> str:
    """What an error says, on one line and no longer than is read; what hides in a file's name stays there."""
    from coutil.texts import plain

    told = " ".join(plain(sentence, 4 * LONGEST_SENTENCE).split())
    return told if len(told) <= LONGEST_SENTENCE else f"{told[: LONGEST_SENTENCE - 2]} …"


def missing_package(name: str) -> str:
    """What to do where a package is not installed; those that nobody must have come with an extra."""
    package = name.partition(".")[0]
    extra = EXTRAS.get(package)
    wanted = f"coutil[{extra}]" if extra else "coutil"
    return f'The package {package} is not installed: run  {sys.executable} -m pip install "{wanted}"  and try again.'


def _sentence(error: Exception) -> tuple[str, int]:
    if isinstance(error, CoutilError):
        from coutil.speech import sentence

        return sentence(str(error), "mm"), error.exit_code
    if isinstance(error, OSError):
        return f"The disk refused: {error.strerror or error}.", BAD_INPUT
    if isinstance(error, ModuleNotFoundError) and error.name and not error.name.startswith("coutil"):
        return missing_package(error.name), BAD_INPUT
    kind = type(error).__name__
    return (
        f"Something in the program went wrong ({kind}: {error}); please report it with your files.",
        OWN_FAULT,
    )
