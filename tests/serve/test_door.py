"""Who is let in: this machine alone, or the network behind a login."""

from __future__ import annotations

import stat

import pytest

from lemel.book import open_book
from lemel.errors import BadInput
from lemel.serve import serve
from lemel.web import has_password, set_password

WORDS = "wren under the anvil"


@pytest.fixture
def folder(tmp_path):
    open_book(tmp_path / "book", create=True).close()
    return tmp_path / "book"


def test_the_network_is_not_let_in_without_a_login(folder):
    with pytest.raises(BadInput) as refused:
        serve(folder, port=0, share=True)
    assert "--set-password" in refused.value.do


def test_the_password_is_kept_as_a_hash_that_only_its_owner_reads(folder):
    set_password(folder, WORDS)
    assert has_password(folder)
    kept = folder / "login"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert WORDS not in kept.read_text()
