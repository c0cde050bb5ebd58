"""What serves the pages and the API of one book: settings, addresses, server.

Comes in: the book's folder, a port, whether the local network may come in. Goes out: pages on
this machine, or on the network once a login is set. May ask: web, api, book. Django's settings
are made here and nowhere else; whoever wants pages calls `configure` before anything of Django.
"""

from lemel.serve.demo import demo_book
from lemel.serve.server import Place, application, serve
from lemel.serve.settings import configure, point_at

__all__ = ["Place", "application", "configure", "demo_book", "point_at", "serve"]
