"""Settings, addresses and the server: joins `web` and `api` over one book.

Comes in: a book's folder and where to listen (loopback unless a login is set). Goes out: a running
server. Nothing below knows that it is there.
"""
