"""What leaves the house: the wheel is whole, and works where no checkout is."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
import up

from lemel import __version__
from tests.house.reading import HOUSE, SOURCE, tracked_files


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=HOUSE, check=True, capture_output=True)
    (made,) = folder.glob("*.whl")
    return made


def test_the_wheel_holds_every_file_of_the_library_and_nothing_else(wheel: Path):
    with zipfile.ZipFile(wheel) as packed:
        names = {name for name in packed.namelist() if not name.endswith("/")}
    ours = {
        path.relative_to(SOURCE.parent).as_posix()
        for path in tracked_files()
        if path.is_relative_to(SOURCE)
    }
    about = {name for name in names if ".dist-info/" in name}
    assert names - about == ours
    assert any(name.endswith("licenses/LICENSE") for name in about)


@pytest.fixture(scope="module")
def elsewhere(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment with the locked list and the wheel, away from the checkout."""
    folder = tmp_path_factory.mktemp("elsewhere")
    up.furnish(folder / "env", "run", [str(wheel)])
    return folder


def _lemel(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [str(up.bin_of(folder / "env") / "lemel"), *words]
    kept = {"HOME": str(folder), "PATH": os.environ.get("PATH", ""), "LC_ALL": "C.UTF-8"}
    return subprocess.run(
        command, cwd=folder, env=kept, capture_output=True, text=True, check=False, timeout=120
    )


def test_the_installed_program_answers_away_from_the_checkout(elsewhere: Path):
    done = _lemel(elsewhere, "alloy", "Ag=925", "Cu=75", "--json")
    assert done.returncode == 0, done.stdout + done.stderr
    answer = json.loads(done.stdout)
    assert answer["liquidus_c"] == pytest.approx(896.3, abs=0.5)
    assert answer["solidus_c"] == pytest.approx(802.8, abs=0.5)


def test_the_installed_program_knows_its_version(elsewhere: Path):
    done = _lemel(elsewhere, "--version")
    assert done.returncode == 0
    assert __version__ in done.stdout


def _library(folder: Path) -> Path:
    """Where the installed library lies."""
    python = str(up.bin_of(folder / "env") / "python")
    where = "import lemel, pathlib; print(pathlib.Path(lemel.__file__).parent)"
    done = subprocess.run([python, "-c", where], cwd=folder, capture_output=True, text=True)
    return Path(done.stdout.strip())


def test_the_library_that_answers_is_the_installed_one(elsewhere: Path):
    assert _library(elsewhere).is_relative_to(elsewhere / "env")


def test_the_demo_month_is_planned_away_from_the_checkout(elsewhere: Path):
    month = _library(elsewhere) / "demo" / "quillmarsh"
    planned = _lemel(elsewhere, "plan", str(month), "--json")
    assert planned.returncode in (0, 3), planned.stdout[-2000:] + planned.stderr
    assert json.loads(planned.stdout)["balance"]["residual_mg"] == 0
