"""Makes the picture of the README anew from the demo month: python docs/picture.py"""

from __future__ import annotations

from pathlib import Path

from lemel import cards
from lemel.demo import quillmarsh
from lemel.files import read_plan_folder
from lemel.plan import do


def main() -> None:
    """Plan the Quillmarsh month and keep a look at its cards beside this page."""
    plan = do(read_plan_folder(quillmarsh()))
    Path(__file__).with_name("picture.png").write_bytes(cards.picture(plan, ppi=90))


if __name__ == "__main__":
    main()
