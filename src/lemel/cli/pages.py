"""`lemel serve`: the pages of one book, on this machine or on the local network."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told
from lemel.cli.places import book_place
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.serve import Place

__all__ = ["serve"]

_PORT = 8311
_DEMO = Path(".demo") / "book"


@verb("serve", help="The pages of a book, on this machine; ends with Ctrl-C.")
@click.option("--book", "place", metavar="DIR", help="The book's folder. [as in `where`]")
@click.option("--port", type=click.IntRange(0, 65535), default=_PORT, help=f"[{_PORT}; 0: any]")
@click.option("--open", "opens", is_flag=True, help="Open the first page in the browser.")
@click.option("--share", is_flag=True, help="Let the local network in; wants a login.")
@click.option("--set-password", is_flag=True, help="Set the book's login and end.")
@click.option("--new-token", metavar="NAME", help="A token for a device of this name, and end.")
@click.option("--describe", metavar="FILE", help="Write the API's OpenAPI file and end.")
@click.option("--demo", is_flag=True, help="Serve the Quillmarsh month from ./.demo/book.")
def serve(
    place: str | None,
    port: int,
    opens: bool,
    share: bool,
    set_password: bool,
    new_token: str | None,
    describe: str | None,
    demo: bool,
) -> Told:
    """Serves until it is told to end."""
    from lemel.serve import configure
    from lemel.serve import serve as serve_pages

    configure()
    if describe is not None:
        return _described(Path(describe))
    folder = _folder(place, demo)
    if set_password:
        return _password(folder)
    if new_token is not None:
        return _token(folder, new_token)
    at: list[str] = []

    def ready(where: Place) -> None:
        at.extend(where.listens)
        click.echo(f"The pages of {folder} are at {where.address} (Ctrl-C ends).", err=True)
        for other in where.listens[1:]:
            click.echo(f"On the network: {other}", err=True)
        if opens:
            click.launch(where.address)

    try:
        serve_pages(folder, port=port, share=share, ready=ready)
    except KeyboardInterrupt:
        click.echo("", err=True)
    return Told({"book": str(folder), "served_at": at}, lambda paper: paper.line("Closed."))


def _folder(place: str | None, demo: bool) -> Path:
    """The book's folder, begun where it is the demo's."""
    from lemel.book import is_book

    if demo:
        from lemel.cli.watching import watching
        from lemel.serve import demo_book

        target = Path(place).expanduser() if place else _DEMO
        if not is_book(target):
            click.echo("Planning the Quillmarsh month (once).", err=True)
        with watching("plan") as watch:
            return demo_book(target, watch)
    folder = Path(place).expanduser() if place else book_place()[0]
    if not is_book(folder):
        raise BadInput(
            "--book", str(folder), "a folder with a book in it",
            "Begin one with `lemel book begin`, or look at the demo's with `lemel serve --demo`.",
        )  # fmt: skip
    return folder.resolve()


def _password(folder: Path) -> Told:
    from lemel.web import set_password

    said: Any = click.prompt("New password of the book", hide_input=True, confirmation_prompt=True)
    set_password(folder, said)
    payload = {"book": str(folder), "login": True}
    return Told(payload, lambda paper: paper.line("The book asks for this password from now on."))


def _token(folder: Path, name: str) -> Told:
    from lemel.book import new_token

    token = new_token(folder, name)
    payload = {"book": str(folder), "device": name, "token": token}

    def show(paper: Any) -> None:
        paper.line(token)
        paper.line(f"Give it to {name}; it is shown this once.")

    return Told(payload, show)


def _described(path: Path) -> Told:
    from lemel.api import description

    try:
        path.write_text(description(), "utf-8")
    except OSError as fault:
        raise BadInput(
            "--describe", str(path), "a file that can be written", f"{fault.strerror}."
        ) from None
    return Told({"file": str(path)}, lambda paper: paper.line(f"{path} describes the API."))
