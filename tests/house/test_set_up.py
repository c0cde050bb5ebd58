"""The set-up script: refuses what it cannot use, starts again after a break, writes no address."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
import up

from tests.house.reading import HOUSE


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A set-up that happens on paper: the steps are written down, not taken."""
    taken: list[str] = []
    monkeypatch.setattr(up, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(up, "STAMP", tmp_path / ".venv" / "lemel-set-up")

    def furnish(venv: Path, group: str, project: list[str]) -> None:
        assert "--no-build-isolation" in project
        venv.mkdir(exist_ok=True)
        taken.append(group)

    monkeypatch.setattr(up, "furnish", furnish)
    return taken


def test_a_second_call_does_nothing(bench: list[str]):
    up.set_up("dev")
    up.set_up("dev")
    assert bench == ["dev"]


def test_the_larger_set_up_serves_the_smaller_and_not_the_other_way(bench: list[str]):
    up.set_up("dev")
    up.set_up("run")
    assert bench == ["dev"]
    up.STAMP.unlink()
    up.set_up("run")
    up.set_up("dev")
    assert bench == ["dev", "run", "dev"]


def test_an_interrupted_set_up_starts_again(bench: list[str], monkeypatch: pytest.MonkeyPatch):
    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    up.set_up("dev")
    up.STAMP.write_text("dev\nof another day")
    monkeypatch.setattr(up, "furnish", cut_off)
    with pytest.raises(KeyboardInterrupt):
        up.set_up("dev")
    assert not up.STAMP.exists()


@pytest.mark.parametrize("name", ["locks/dev.txt", "pyproject.toml"])
def test_a_changed_list_is_set_up_again(
    name: str, bench: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    house = tmp_path / "house"
    (house / "locks").mkdir(parents=True)
    for file in ("locks/dev.txt", "locks/run.txt", "pyproject.toml"):
        shutil.copy(HOUSE / file, house / file)
    monkeypatch.setattr(up, "HERE", house)
    monkeypatch.setattr(up, "LOCKS", house / "locks")
    up.set_up("dev")
    (house / name).write_text((house / name).read_text() + "\n# changed\n")
    up.set_up("dev")
    assert bench == ["dev", "dev"]


def test_pips_settings_are_handed_on_and_the_users_own_go_first(monkeypatch: pytest.MonkeyPatch):
    settings = {
        "extra-index-url": "file:///srv/one file:///srv/two",
        "find-links": "/srv/wheels /srv/more",
        "cert": "/etc/ssl/house.pem",
        "default-timeout": "180",
        "constraint": "/etc/constraints.txt",
    }
    monkeypatch.setattr(up, "pip_settings", lambda: settings)
    for name in (*up.PIP_TO_ENVIRONMENT.values(), "UV_INDEX_STRATEGY"):
        monkeypatch.delenv(name, raising=False)
    handed = up.uv_environment()
    assert handed["UV_INDEX"] == settings["extra-index-url"]
    assert handed["UV_FIND_LINKS"] == "/srv/wheels,/srv/more"
    assert handed["SSL_CERT_FILE"] == "/etc/ssl/house.pem"
    assert handed["UV_INDEX_STRATEGY"] == "unsafe-best-match"
    assert handed["UV_PYTHON_DOWNLOADS"] == "never"
    monkeypatch.setenv("SSL_CERT_FILE", "/home-made.pem")
    assert up.uv_environment()["SSL_CERT_FILE"] == "/home-made.pem"


def test_pips_settings_are_read_nearest_first(monkeypatch: pytest.MonkeyPatch):
    told = (
        "global.index-url='file:///srv/far'\n"
        "global.timeout='10'\n"
        "install.timeout='20'\n"
        ":env:.timeout='30'\n"
        "freeze.timeout='99'\n"
        "a line that says nothing\n"
    )
    done = subprocess.CompletedProcess([], 0, told, "")
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: done)
    assert up.pip_settings() == {"index-url": "file:///srv/far", "timeout": "30"}


def test_an_old_python_is_refused_in_one_sentence():
    text = (HOUSE / "up.py").read_text("utf-8")
    old = text.replace("import sys\n", "import sys\nsys.version_info = (3, 9, 2)\n", 1)
    done = subprocess.run([sys.executable, "-c", old, "demo"], capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "3.11" in done.stderr
    assert "3.9" in done.stderr


def test_an_unknown_chore_names_the_known_ones(capsys: pytest.CaptureFixture[str]):
    assert up.main(["brew"]) == 2
    told = capsys.readouterr().out
    for chore in ("demo", "shop", "test", "check", "measure", "soak", "lock"):
        assert chore in told


def test_make_and_up_know_the_same_chores():
    line = next(
        line for line in (HOUSE / "Makefile").read_text().splitlines() if line.startswith(".PHONY")
    )
    for chore in line.split()[1:]:
        assert hasattr(up, chore)


def test_without_pip_the_package_to_install_is_named(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(up, "tried", lambda *_, **__: False)
    with pytest.raises(SystemExit, match="apt-get install python3-pip"):
        up.install_uv(["python"], Path("nowhere"))


def test_a_failing_checker_fails_the_whole_and_the_tests_still_run_last(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    ran: list[str] = []

    def run(program: str, *_: str) -> int:
        ran.append(program)
        return 1 if program == "mypy" else 0

    monkeypatch.setattr(up, "run", run)
    assert up.run_checks([]) == 1
    assert ran == ["ruff", "ruff", "mypy", "lint-imports", "pytest"]
    assert "not in order: mypy" in capsys.readouterr().err


def test_missing_programs_are_installed_by_root_and_named_to_others(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    tried: list[str] = []
    monkeypatch.setattr(up, "tried", lambda *words, **_: tried.append(" ".join(words)) or True)
    monkeypatch.setattr(up, "DEBIAN_PACKAGES", {"no-such-program": "its-package"})
    monkeypatch.setattr(shutil, "which", lambda name: name if name == "apt-get" else None)
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    up.bring_programs()
    assert tried == []
    assert "apt-get install" in capsys.readouterr().err
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    up.bring_programs()
    assert tried[-1].endswith("its-package")
    assert capsys.readouterr().err == ""


def test_the_stamp_is_compared_in_no_time(bench: list[str]):
    up.set_up("dev")
    least = min(_seconds(lambda: up.set_up("dev")) for _ in range(7))
    assert least < 0.05


@pytest.mark.skipif(os.name == "nt", reason="the runner is a shell script")
def test_the_runner_calls_the_readmes_test_command():
    runner = HOUSE / ".ci" / "run"
    assert os.access(runner, os.X_OK)
    assert "make test" in runner.read_text()
    assert "make test" in (HOUSE / "README.md").read_text()


def _seconds(call: object) -> float:
    start = time.perf_counter()
    call()  # type: ignore[operator]
    return time.perf_counter() - start
