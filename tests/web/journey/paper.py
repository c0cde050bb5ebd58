"""Papers that a page sends, fetched with the hand's own session and read as a reader would."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import urlencode, urljoin

import pypdfium2


def read_pdf(content: bytes) -> str:
    """All words of a PDF, after it has been opened and has a page."""
    assert content.startswith(b"%PDF")
    paper = pypdfium2.PdfDocument(content)
    assert len(paper) >= 1
    return "\n".join(sheet.get_textpage().get_text_range() for sheet in paper)


def fetch(page: Any, href: str) -> bytes:
    """What lies at an address of the page, by the browser's own session."""
    answer = page.context.request.get(urljoin(page.url, href))
    assert answer.status == 200, (answer.status, href)
    return answer.body()


def follow(page: Any, link: Any) -> str:
    """The words of the PDF that a link leads to."""
    return read_pdf(fetch(page, link.get_attribute("href")))


def submitted(page: Any, press: Any) -> str:
    """The words of the PDF that a form leads to, at its own address."""
    press()
    page.wait_for_url(re.compile(r"\.pdf"))
    return read_pdf(fetch(page, page.url))


def answered(page: Any, form: Any, press: Any) -> str:
    """The words of the PDF that a form is answered with: it comes to the browser, and once more
    to the reader, who sends the same."""
    told = form.evaluate("one => [...new FormData(one)]")
    with page.expect_response(lambda answer: answer.request.method == "POST") as taken:
        press()
    assert taken.value.status == 200
    assert taken.value.header_value("content-type") == "application/pdf"
    body = urlencode([(name, value) for name, value in told])
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = page.context.request.post(taken.value.url, data=body, headers=kind)
    return read_pdf(answer.body())
