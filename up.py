"""Sets the house up and does its chores: demo, shop, test, check, measure, soak,
reference, lock.

Standard library only. The first call makes `.venv` from the hash-locked lists in `locks/`
and writes a stamp last, so that an interrupted set-up starts again; later calls only
compare the stamp. Words after the chore go to the tool behind it (`up.py test tests/blend`).
"""

import sys

if sys.version_info < (3, 11):
    sys.exit(
        "lemel needs Python 3.11 or later and this is Python %d.%d: install a later one "
        "and name it, for example `make PYTHON=python3.11 demo`." % sys.version_info[:2]
    )

import hashlib
import os
import shlex
import shutil
import subprocess
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
STAMP = VENV / "lemel-set-up"
LOCKS = HERE / "locks"

#: Programs that the tests call and the Debian packages that bring them.
DEBIAN_PACKAGES = {"pdftoppm": "poppler-utils", "chromium": "chromium"}

#: What pip's configuration calls a thing -> what uv and the system's TLS call it.
PIP_TO_ENVIRONMENT = {
    "index-url": "UV_DEFAULT_INDEX",
    "extra-index-url": "UV_INDEX",
    "find-links": "UV_FIND_LINKS",
    "no-index": "UV_NO_INDEX",
    "trusted-host": "UV_INSECURE_HOST",
    "cert": "SSL_CERT_FILE",
    "proxy": "HTTPS_PROXY",
    "default-timeout": "UV_HTTP_TIMEOUT",
    "timeout": "UV_HTTP_TIMEOUT",
}


def main(words: list[str]) -> int:
    """Do one chore; its exit code."""
    chores = {
        "demo": demo,
        "shop": shop,
        "test": test,
        "check": check,
        "measure": measure,
        "soak": soak,
        "reference": reference,
        "lock": lock,
    }
    if not words or words[0] not in chores:
        print("python up.py " + " | ".join(chores))
        return 0 if words in ([], ["help"], ["--help"]) else 2
    os.chdir(HERE)
    return chores[words[0]](words[1:])


def demo(more: list[str]) -> int:
    """Plan the Quillmarsh month in a folder of its own, and say where the cards lie."""
    set_up("run")
    return run("lemel", "demo", "--into", ".demo", *more)


def shop(more: list[str]) -> int:
    """Serve the pages of the Quillmarsh month, planned once in a folder of its own."""
    set_up("run")
    return run("lemel", "serve", "--demo", *more)


def test(more: list[str]) -> int:
    """Everything that a change must pass, after bringing in what the tests call."""
    set_up("dev")
    bring_programs()
    return run_checks(more)


def check(more: list[str]) -> int:
    """The same, with the machine left as it is."""
    set_up("dev")
    return run_checks(more)


def measure(more: list[str]) -> int:
    """The speeds that are promised, as a table."""
    set_up("dev")
    return run("python", "benchmarks/measure.py", *more)


def reference(more: list[str]) -> int:
    """Make the metal room's reference file anew with an independent library (about 20 min)."""
    set_up("dev")
    return run("python", "benchmarks/reference_metal.py", *more)


def soak(more: list[str]) -> int:
    """The long tests."""
    set_up("dev")
    nothing_to_run = 5
    code = run("pytest", "-m", "soak", "--durations=10", *more)
    return 0 if code == nothing_to_run else code


def lock(more: list[str]) -> int:
    """Write the lists in `locks/` anew from pyproject.toml; `--upgrade` takes new releases."""
    set_up("dev" if (LOCKS / "dev.txt").exists() else "nothing")
    base = ["pip", "compile", "--universal", "--generate-hashes", "--quiet"]
    base += ["--no-emit-index-url", "--no-header", "--no-annotate", "--python-version", "3.11"]
    # A side index holds some files of a release only; their hashes alone would not do elsewhere.
    asides = ("UV_INDEX", "UV_EXTRA_INDEX_URL", "UV_FIND_LINKS")
    environment = {k: v for k, v in uv_environment().items() if k not in asides}
    shop = ["pyproject.toml", "--extra", "shop"]
    lists = {
        "run.txt": [*shop, "--group", "build"],
        "dev.txt": [*shop, "--group", "dev", "--constraints", "locks/run.txt"],
        "uv.txt": ["--group", "uv"],
    }
    for name, options in lists.items():
        command = [
            str(bin_of(VENV) / "uv"),
            *base,
            *options,
            *more,
            "--output-file",
            f"locks/{name}",
        ]
        subprocess.run(command, check=True, env=environment)
    return 0


def run_checks(more: list[str]) -> int:
    """Each checker to its end, the tests last; 1 if any of them objects."""
    checkers = [
        ("ruff", "format", "--check", "."),
        ("ruff", "check", "."),
        ("mypy",),
        ("lint-imports",),
    ]
    failed = [" ".join(words) for words in checkers if run(*words)]
    for words in failed:
        print(f"not in order: {words}", file=sys.stderr)
    return run("pytest", *more) or (1 if failed else 0)


def run(program: str, *words: str) -> int:
    """A program of the environment, in the foreground; its exit code."""
    sys.stdout.flush()
    environment = {**os.environ, "PATH": f"{bin_of(VENV)}{os.pathsep}{os.environ.get('PATH', '')}"}
    environment.pop("PYTHONHOME", None)
    try:
        return subprocess.run(
            [str(bin_of(VENV) / program), *words], env=environment, check=False
        ).returncode
    except KeyboardInterrupt:
        return 130


def set_up(group: str) -> None:
    """Make `.venv` with the packages of one list, unless its stamp says that it is so."""
    has = STAMP.read_text("utf-8").split("\n") if STAMP.exists() else []
    wanted = stamp(group)
    if has == wanted or (group == "run" and has == stamp("dev")):
        return
    print(f"Setting up {VENV.name} (once; some minutes on a slow line)", file=sys.stderr)
    STAMP.unlink(missing_ok=True)
    furnish(VENV, group, ["--no-build-isolation", "-e", str(HERE)])
    STAMP.write_text("\n".join(wanted), "utf-8")


def furnish(venv: Path, group: str, project: list[str]) -> None:
    """An environment from nothing: Python, uv, one hash-locked list, and the project itself."""
    outer, inner = outer_python(), str(bin_of(venv) / "python")
    step(outer, "-m", "venv", "--without-pip", "--clear", str(venv))
    pip = [outer, "-m", "pip", "--python", inner, "install", "--quiet"]
    pip += ["--disable-pip-version-check", "--no-warn-script-location"]
    uv = install_uv(pip, venv)
    if group == "nothing":
        return
    chosen = ["--require-hashes", "-r", str(LOCKS / f"{group}.txt")]
    install, environment = pip, dict(os.environ)
    if uv:
        install = [uv, "pip", "install", "--quiet", "--python", inner, "--compile-bytecode"]
        environment = uv_environment()
    if not tried(*install, *chosen, environment=environment):
        print("That did not work; pip tries the same list", file=sys.stderr)
        install, environment = pip, dict(os.environ)
        step(*install, *chosen)
    step(*install, "--no-deps", *project, environment=environment)


def bin_of(venv: Path) -> Path:
    """Where an environment keeps its programs."""
    return venv / ("Scripts" if os.name == "nt" else "bin")


def stamp(group: str) -> list[str]:
    """What a finished set-up is known by: list, its hash, Python and place."""
    path = LOCKS / f"{group}.txt"
    text = path.read_bytes() if path.exists() else b""
    project = (HERE / "pyproject.toml").read_bytes()
    digest = hashlib.sha256(text + project).hexdigest()
    return [group, digest, "%d.%d" % sys.version_info[:2], str(HERE)]


def outer_python() -> str:
    """The Python that `.venv` is made from: never the one inside it."""
    if sys.prefix == sys.base_prefix:
        return sys.executable
    return getattr(sys, "_base_executable", sys.executable)


def install_uv(pip: list[str], venv: Path) -> str:
    """Put the pinned uv into the environment; its path, or "" where it cannot be had."""
    if not tried(pip[0], "-m", "pip", "--version"):
        sys.exit(
            "This Python has no pip: install it (on Debian: apt-get install python3-pip), "
            "then call again."
        )
    pinned = LOCKS / "uv.txt"
    wanted = ["--require-hashes", "-r", str(pinned)] if pinned.exists() else ["uv"]
    program = bin_of(venv) / ("uv.exe" if os.name == "nt" else "uv")
    if tried(*pip, *wanted) and program.exists():
        return str(program)
    print("uv is not to be had here; pip does it, more slowly", file=sys.stderr)
    return ""


def uv_environment() -> dict[str, str]:
    """This environment with pip's own settings handed on to uv, which does not read them.

    They live in the child process alone and are written nowhere. What the user set for
    uv itself goes first. Several indexes may hold the same package: the hashes of the
    lists say which file is meant, so uv may look in all of them.
    """
    environment = {"UV_INDEX_STRATEGY": "unsafe-best-match", "UV_PYTHON_DOWNLOADS": "never"}
    for name, value in pip_settings().items():
        if name in PIP_TO_ENVIRONMENT:
            parted = ",".join(value.split()) if name == "find-links" else value
            environment[PIP_TO_ENVIRONMENT[name]] = parted
    return {**environment, **os.environ}


def pip_settings() -> dict[str, str]:
    """pip's settings for an install by bare name, the nearest to the user winning."""
    command = [outer_python(), "-m", "pip", "config", "list"]
    told = subprocess.run(command, capture_output=True, text=True, check=False).stdout
    by_section: dict[str, dict[str, str]] = {"global": {}, "install": {}, ":env:": {}}
    for line in told.splitlines():
        key, _, value = line.partition("=")
        section, _, name = key.rpartition(".")
        if section in by_section and value:
            by_section[section][name] = " ".join(shlex.split(value))
    return by_section["global"] | by_section["install"] | by_section[":env:"]


def bring_programs() -> None:
    """Install the Debian packages whose programs are missing, or name the command."""
    missing = sorted({p for tool, p in DEBIAN_PACKAGES.items() if not shutil.which(tool)})
    if not missing:
        return
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing]
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if is_root and shutil.which("apt-get"):
        tried("apt-get", "update", "-qq")
        if tried(*install, environment={**os.environ, "DEBIAN_FRONTEND": "noninteractive"}):
            return
    print(f"Some tests need {', '.join(missing)}: {' '.join(install)}", file=sys.stderr)


def tried(*words: str, environment: dict[str, str] | None = None) -> bool:
    """Whether a command ended well; what it says on the way out is shown only if it did not."""
    done = subprocess.run(
        words, env=environment, check=False, capture_output=True, text=True, errors="replace"
    )
    if done.returncode:
        print(done.stdout + done.stderr, file=sys.stderr)
    return done.returncode == 0


def step(*words: str, environment: dict[str, str] | None = None) -> None:
    """A command that must end well, or the set-up ends here with its name."""
    if not tried(*words, environment=environment):
        sys.exit(f"Set-up stopped at: {' '.join(words)}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
