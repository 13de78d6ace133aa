"""The command line: a file for each command; it computes nothing.

Exit codes: 0 every judged answer is good or close; 1 something fails; 2 the input is wrong; 3 something
cannot be judged yet; 70 our own fault.
"""

from __future__ import annotations

import argparse
import atexit
import gc
import importlib
import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path

from roofwell import __version__
from roofwell.errors import InputError

INPUT_WRONG = 2
OWN_FAULT = 70


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands; it imports none of them."""
    root = argparse.ArgumentParser(
        prog="roofwell",
        description="Takes the water that falls on a roof and brings it safely into the ground.",
        epilog="Exit codes: 0 good or close, 1 something fails, 2 the input is wrong, 3 something cannot be "
        "judged yet, 70 our own fault.",
    )
    root.add_argument("--version", action="version", version=f"roofwell {__version__}")
    commands = root.add_subparsers(dest="command", metavar="COMMAND")
    start = commands.add_parser("start", help="write a commented job document to begin with")
    start.add_argument("file", type=Path, metavar="FILE", help="the file to write; one that is there is kept")
    start.add_argument("--metric", action="store_true", help="in millimetres and metres")
    sheet = commands.add_parser("sheet", help="write a blank field sheet to print and take along")
    sheet.add_argument(
        "file",
        type=Path,
        metavar="FILE",
        nargs="?",
        default=Path("field-sheet.pdf"),
        help="the PDF to write (default: field-sheet.pdf)",
    )
    sheet.add_argument("--metric", action="store_true", help="for millimetres and metres")
    design = commands.add_parser(
        "design", help="design and judge a job, give the nine answers, write the papers"
    )
    design.add_argument("job", metavar="JOB", help="a job document (.toml), or the name of a shipped example")
    design.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where the papers go (default: roofwell-papers/NAME)"
    )
    design.add_argument("--json", action="store_true", help="print the results as JSON instead of words")
    design.add_argument("--no-papers", action="store_true", help="give the answers only")
    design.add_argument("--all", action="store_true", help="print every finding, not only what needs work")
    height = design.add_mutually_exclusive_group()
    height.add_argument(
        "--instrument",
        metavar="ELEVATION",
        help='crew sheets for this height of the instrument, such as "104.62 ft"',
    )
    height.add_argument(
        "--backsight",
        metavar="ROD",
        help='crew sheets for this rod reading on the benchmark, such as "4.62 ft"',
    )
    design.add_argument(
        "--readings",
        choices=("decimal-feet", "feet-and-eighths", "meters", "millimeters"),
        help="how the crew's rod is divided (default: decimal-feet, or meters in a metric job)",
    )
    design.add_argument(
        "--adopt", type=Path, metavar="FILE", help="write the job with every designed value given"
    )
    design.add_argument(
        "--chance",
        action="store_true",
        help="draw all unknowns (soil, groundwater, voids, roof loss, luck of the years) together through the long record"
        " too; takes a second or two, wells that hand water on to each other up to half a minute",
    )
    design.add_argument(
        "--mends",
        action="store_true",
        help="try single changes (a larger basin, one more well, another lip, a size left open again) for each answer"
        " that is not good, and print those that mend it with their edits; takes some seconds for each answer",
    )
    serve = commands.add_parser("serve", help="open the page: draw the house, follow the water")
    serve.add_argument(
        "--store", metavar="FILE", help="where the jobs are kept (default: in your own data folder)"
    )
    serve.add_argument(
        "--port", type=int, default=8437, help="the port to listen on (default: 8437; 0: any free one)"
    )
    serve.add_argument("--no-browser", action="store_true", help="do not open a browser")
    serve.add_argument(
        "--lan",
        metavar="ADDRESS",
        help="let the local network in at this address of the machine, with an access key",
    )
    serve.add_argument("--certificate", metavar="FILE", help="certificate for HTTPS (with --certificate-key)")
    serve.add_argument("--certificate-key", metavar="FILE", help="private key of the certificate")
    commands.add_parser("schema", help="print the JSON Schema of the job document")
    rain = commands.add_parser("rain", help="look at a rain table or a gauge record")
    rain.add_argument(
        "source", metavar="FILE", nargs="?", help="a rain file, or the id of a shipped one; none: list those"
    )
    rain.add_argument("--unit", choices=("in", "mm"), help="unit of a gauge record that does not say it")
    rain.add_argument(
        "--stamps", choices=("start", "end"), default="start", help="what a record's time stamps mark"
    )
    rain.add_argument(
        "--table",
        metavar="TABLE",
        help="a rain table, a file or a shipped id, to compare a gauge record with",
    )
    return root


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; never shows a traceback."""
    options = parser().parse_args(arguments)
    if options.command is None:
        parser().print_help()
        return 0
    # before numpy is loaded: matrices here are tiny, and its threads would only wait for each other
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    collecting = gc.isenabled()
    # nor is what is left walked once more on the way out: that took a sixth of the whole run
    atexit.register(gc.freeze)
    gc.disable()  # a command is over before a collection pays; loading the libraries alone sets off dozens
    try:
        command = importlib.import_module(f"roofwell.cli.{options.command}_command")
        code: int = command.run(options)
    except InputError as error:
        print(f"roofwell: {error.message}", file=sys.stderr)
        return INPUT_WRONG
    except BrokenPipeError:
        # the reader stopped listening: Python would complain once more when it closes the pipe
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("roofwell: stopped", file=sys.stderr)
        return 130
    except Exception:
        return _own_fault()
    finally:
        if collecting:
            gc.enable()
    return code


def _own_fault() -> int:
    """Say that it was our fault and where the details are."""
    words = traceback.format_exc()
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="roofwell-fault-", suffix=".log", delete=False, encoding="utf-8"
        ) as log:
            log.write(f"roofwell {__version__}\n{words}")
        where = f" The details are in {log.name}."
    except OSError:
        where = ""
    print(
        f"roofwell: something went wrong inside Roofwell, not in your job. Your files are as they were.{where}",
        file=sys.stderr,
    )
    return OWN_FAULT
