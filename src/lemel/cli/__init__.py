"""The command line: words in, one answer out, as sentences and tables or as one JSON object.

Comes in: arguments, files, stdin. Goes out: text or JSON on stdout, progress on stderr, an exit
code (0 done, 2 bad input, 3 not possible, 1 our own fault, 130 stopped). May ask every
room; loads each only when its verb is called, so that `--help` stays quick.
"""

from lemel.cli.run import main, run

__all__ = ["main", "run"]
