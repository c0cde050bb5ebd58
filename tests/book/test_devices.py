"""A device's token: shown once, kept as a digest, void once forgotten."""

from __future__ import annotations

import pytest

from lemel.book import device_of, devices_of, forget_device, new_token
from lemel.errors import BadInput


def test_a_token_opens_for_its_device_alone_and_is_not_written_down(tmp_path):
    one, other = new_token(tmp_path, "balance"), new_token(tmp_path, "phone")
    assert (device_of(tmp_path, one), device_of(tmp_path, other)) == ("balance", "phone")
    assert device_of(tmp_path, one[:-1]) == device_of(tmp_path, "") == ""
    assert one not in (tmp_path / "devices").read_text()
    assert (tmp_path / "devices").stat().st_mode & 0o077 == 0


def test_a_new_token_makes_the_old_one_void_and_a_forgotten_device_is_out(tmp_path):
    old = new_token(tmp_path, "balance")
    new = new_token(tmp_path, "balance")
    assert device_of(tmp_path, old) == ""
    forget_device(tmp_path, "balance")
    assert device_of(tmp_path, new) == ""
    assert devices_of(tmp_path) == {}
    with pytest.raises(BadInput, match="none yet"):
        forget_device(tmp_path, "balance")


def test_a_device_has_a_short_name(tmp_path):
    with pytest.raises(BadInput):
        new_token(tmp_path, "two\nlines")
    with pytest.raises(BadInput, match="shorter"):
        new_token(tmp_path, "x" * 61)
