"""One job from stdin to stdout: `python -m lemel.work`."""

import sys

from lemel.work.child import main

if __name__ == "__main__":
    sys.exit(main())
