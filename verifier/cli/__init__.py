"""The command ``verifier``. Commands are thin: they read arguments, call the pipeline and print the answer.

Exit codes: 0 done, or go with or without conditions; 1 no-go, or a check failed; 2 the input can't be used.
"""

from __future__ import annotations

import sys

BAD_INPUT = 2
DEBUG = "--debug"


def main() -> None:
    """Run the command line; every error a person can meet ends as one clear message, never as a stack trace."""
    from verifier.cli.commands import app
    from verifier.errors import VerifierError

    arguments = [a for a in sys.argv[1:] if a != DEBUG]  # it may stand before or behind the command
    try:
        app(arguments, prog_name="verifier")
    except VerifierError as error:
        _tell("\n".join(filter(None, (f"{error.where}: {error.wrong}", error.todo, error.command))))
        sys.exit(BAD_INPUT)
    except BrokenPipeError:
        sys.stderr.close()  # the reader of our output has gone; there is nobody left to tell
        sys.exit(0)
    except KeyboardInterrupt:
        _tell("Stopped. What was already recorded stays; run the command again to go on.")
        sys.exit(130)
    except Exception as error:
        if DEBUG in sys.argv:
            raise
        _tell(
            f"Something went wrong that should not ({type(error).__name__}: {error}).\n"
            "Nothing that was recorded is lost. Run the command again with --debug and send us what it prints."
        )
        sys.exit(BAD_INPUT)


def _tell(text: str) -> None:
    sys.stderr.write(f"{text}\n")
