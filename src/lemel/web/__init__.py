"""The pages for desk and phone, one module an area.

Comes in: requests of a browser. Goes out: pages from the book, acts into the book. May ask: book
and every room below it. Each area has its addresses in its own module (`scrap.urlpatterns`),
`urls` lists the areas; `shell` opens the book and draws the frame. See docs/web.md.
"""

from lemel.web.password import clear_password, has_password, set_password

__all__ = ["clear_password", "has_password", "set_password"]
