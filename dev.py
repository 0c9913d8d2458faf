#!/usr/bin/env python3
"""The project's verbs, the same words on Linux, macOS and Windows.

python3 dev.py demo   set everything up, make the demo workshop and serve it on this machine
                      [--no-serve] [--port N] [--folder DIR]
python3 dev.py test   set everything up, check style and types, run every test, browser and all;
                      with arguments (they go to pytest) run only those tests
python3 dev.py lint   check style and types; with --fix repair what can be repaired
python3 dev.py lock   write the lock files anew from pyproject.toml; with --upgrade take newer libraries
python3 dev.py bench  run the benchmarks; with names only those

"Set up" makes .venv beside this file (or where HALFROLL_VENV points) and installs what the lock file lists.
Only Python's standard library is used here, and an older Python must be able to read this file, to say so.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

HERE = Path(__file__).resolve().parent
VENV = Path(os.environ.get("HALFROLL_VENV") or HERE / ".venv").absolute()
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "halfroll-set-up.txt"
LOCKS = {"run": HERE / "requirements.lock", "dev": HERE / "requirements-dev.lock"}
OLDEST = (3, 11)
STARTED = time.monotonic()

# What would lead a child process out of its own environment.
FOREIGN = ("PYTHONPATH", "PYTHONHOME", "PYTHONSTARTUP", "VIRTUAL_ENV", "__PYVENV_LAUNCHER__")

# Playwright's driver needs the second one on a bare Debian.
DEBIAN_BROWSER = ("chromium", "libatomic1")

# A sound server without a sound card, and the library programs reach it by.
DEBIAN_SOUND = ("pipewire", "pipewire-bin", "pipewire-jack", "libportaudio2")

# The finite elements' wheel leaves this one to the system.
DEBIAN_SOLVER = ("libquadmath0",)

BROWSER_PROBE = """
import sys
from playwright.sync_api import sync_playwright
try:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=sys.argv[1] or None, args=["--no-sandbox", "--disable-gpu"]
        )
        browser.new_page().set_content("<p>halfroll</p>")
        print(browser.version)
        browser.close()
except Exception as error:
    sys.exit(str(error))
"""


class StopError(Exception):
    """The work cannot go on; the text says why and what to do, for the person at the terminal."""

    def __init__(self, text: str, code: int = 1) -> None:
        super().__init__(text)
        self.code = code


def say(text: str) -> None:
    """Print one line with the time since the start."""
    print(f"[{time.monotonic() - STARTED:5.0f} s] {text}", flush=True)


def environment(**extra: str) -> dict[str, str]:
    """Give the environment for child processes."""
    return {key: value for key, value in os.environ.items() if key not in FOREIGN} | extra


def run(*command: str | Path, env: dict[str, str] | None = None) -> int:
    """Run a command in the project's folder, its output shown, and give its exit code."""
    with subprocess.Popen([str(word) for word in command], cwd=HERE, env=env or environment()) as process:
        try:
            return process.wait()
        except KeyboardInterrupt:  # the child heard it too; let it end in its own way
            for stop in (process.terminate, process.kill):
                with contextlib.suppress(subprocess.TimeoutExpired):
                    process.wait(5)
                    break
                stop()
            raise


def quietly(*command: str | Path, env: dict[str, str] | None = None) -> tuple[int, str]:
    """Run a command without showing its output; give its exit code and what it printed."""
    done = subprocess.run(
        [str(word) for word in command],
        cwd=HERE,
        env=env or environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    )
    return done.returncode, done.stdout


def last_lines(text: str, count: int = 15) -> str:
    """Give the end of a long output, indented."""
    return "\n".join("    " + line for line in text.strip().splitlines()[-count:])


# Debian's package manager ---------------------------------------------------------------------------------------


def can_apt() -> bool:
    """Tell whether system packages can be installed here without asking."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def apt_install(*packages: str) -> str:
    """Install Debian packages; give an empty text, or what went wrong."""
    say(f"Installing the system's {', '.join(packages)} with apt-get.")
    env = environment(DEBIAN_FRONTEND="noninteractive")
    for words in (("update",), ("install", "-y", "--no-install-recommends", *packages)):
        code, output = quietly("apt-get", *words, env=env)
        if code:
            return f"apt-get {words[0]} failed:\n{last_lines(output)}"
    return ""


# The environment ------------------------------------------------------------------------------------------------


def fingerprint(kind: str) -> str:
    """Name everything an environment of this kind was made from."""
    digest = hashlib.sha256(LOCKS[kind].read_bytes()).hexdigest()
    return f"{kind} python{sys.version_info[0]}.{sys.version_info[1]} {digest} {HERE} {VENV}"


def works() -> bool:
    """Tell whether the environment starts and finds the project."""
    return PYTHON.exists() and quietly(PYTHON, "-c", "import halfroll")[0] == 0


def set_up(kind: str) -> None:
    """Make the environment if it is missing, broken or made from another lock; `dev` holds all of `run`."""
    VENV.parent.mkdir(parents=True, exist_ok=True)
    with one_at_a_time(VENV.with_name(VENV.name + ".lock")):
        made_from = STAMP.read_text(encoding="utf-8").splitlines() if STAMP.exists() else []
        enough = (kind, "dev") if kind == "run" else (kind,)
        sound = works()
        if sound and any(fingerprint(name) in made_from for name in enough):
            return
        if not (sound and fingerprint("run") in made_from):
            make_venv()
        STAMP.unlink(missing_ok=True)
        install(LOCKS[kind])
        STAMP.write_text(fingerprint(kind) + "\n", encoding="utf-8")


@contextlib.contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Hold a lock between processes; the system frees it when a process dies."""
    with path.open("a") as file:
        told = False
        while not locked(file):
            if not told:
                say("Another dev.py is setting up; waiting for it.")
            told = True
            time.sleep(0.5)
        yield


def locked(file: TextIO) -> bool:
    """Try to take the lock on an open file."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def make_venv() -> None:
    """Make an empty environment, in place of whatever is there."""
    if VENV.exists() and any(VENV.iterdir()) and not (VENV / "pyvenv.cfg").exists():
        raise StopError(
            f"{VENV} is not an environment of Python's, so it is left alone. Choose another folder.", code=2
        )
    say(f"Making {VENV} with Python {sys.version.split()[0]}.")
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    if importlib.util.find_spec("ensurepip") is None:
        packages = f"python{version}-venv"
        trouble = (
            apt_install(packages) if can_apt() else "It is a system package, and only root may install it."
        )
        if trouble:
            raise StopError(
                f"This Python has no ensurepip, which makes environments.\n{trouble}\n"
                f"On Debian and Ubuntu: sudo apt-get install {packages}. Then run the same command again."
            )
    base = getattr(sys, "_base_executable", None) or sys.executable
    code, output = quietly(base, "-m", "venv", "--clear", VENV)
    if code:
        raise StopError(
            f"Could not make {VENV}:\n{last_lines(output)}\nRemove that folder and run the same command again."
        )


def install(lock: Path) -> None:
    """Install exactly what the lock lists, then the project itself without fetching anything more."""
    total = sum("==" in line for line in lock.read_text(encoding="utf-8").splitlines())
    say(f"Installing {total} libraries from {lock.name}; this takes a minute or two.")
    pip = [
        str(PYTHON),
        "-m",
        "pip",
        "install",
        "--disable-pip-version-check",
        "--no-input",
        "--progress-bar",
        "off",
    ]
    code, output = watch_pip(
        [*pip, "--require-hashes", "--only-binary", ":all:", "--no-compile", "-r", str(lock)], total
    )
    if code:
        raise StopError(
            f"Could not install the libraries. The end of what pip said:\n{last_lines(output)}\n"
            "Is this machine connected? What is already fetched is kept: run the same command again.\n"
            "Python 3.11, 3.12 and 3.13 on 64-bit Linux, macOS and Windows are known to work; "
            f"this is Python {sys.version.split()[0]}."
        )
    code, output = quietly(*pip, "--no-deps", "--no-build-isolation", "--editable", HERE)
    if code:
        raise StopError(f"Could not install halfroll itself. The end of what pip said:\n{last_lines(output)}")
    say("Libraries installed.")


def watch_pip(command: list[str], total: int) -> tuple[int, str]:
    """Run pip; at a terminal, show how far it is."""
    lines: list[str] = []
    count = 0
    with subprocess.Popen(
        command,
        cwd=HERE,
        env=environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    ) as process:
        for line in process.stdout or ():
            lines.append(line)
            count += line.startswith("Collecting ")
            if sys.stdout.isatty():
                doing = (
                    line.split()[1]
                    if line.startswith("Collecting ")
                    else line.split()[0]
                    if line.split()
                    else ""
                )
                print(f"\r          {count} of {total}  {doing[:50]:50}", end="", flush=True)
    if sys.stdout.isatty():
        print("\r" + " " * 78 + "\r", end="", flush=True)
    return process.returncode, "".join(lines)


# The browser ----------------------------------------------------------------------------------------------------


def find_browser() -> str:
    """Give the path of a Chromium that starts ("" for Playwright's own); install one where that is allowed."""
    troubles: dict[str, str] = {}
    for what, bring in (
        ("", None),
        ("Installing Debian's Chromium", bring_debian_chromium),
        ("Fetching Playwright's Chromium", bring_playwright_chromium),
    ):
        trouble = bring() if bring else ""
        if trouble:
            troubles[what] = trouble
            continue
        for path in browser_candidates():
            code, output = quietly(PYTHON, "-c", BROWSER_PROBE, path)
            if code == 0:
                say(f"Browser for the tests: Chromium {output.strip()} ({path or 'from Playwright'}).")
                return path
            troubles[f"Starting {path or 'the Chromium of Playwright'}"] = last_lines(output, 8)
    tried = "\n".join(f"  {what}:\n{why}" for what, why in troubles.items())
    raise StopError(
        f"The browser tests need a Chromium that starts, and none does. Tried:\n{tried}\n"
        f"To get one, on Debian: sudo apt-get install {' '.join(DEBIAN_BROWSER)}\n"
        f"Elsewhere: {PYTHON} -m playwright install --with-deps chromium\n"
        "Or set HALFROLL_CHROMIUM to the path of a Chromium that is already there.\n"
        'To run the other tests alone: python3 dev.py test -m "not browser"'
    )


def browser_candidates() -> list[str]:
    """List where a Chromium may be, the surest first."""
    named = [os.environ.get("HALFROLL_CHROMIUM"), shutil.which("chromium"), shutil.which("chromium-browser")]
    return [path for path in dict.fromkeys(named) if path] + [""]


def bring_debian_chromium() -> str:
    """Install the system's Chromium; give an empty text, or why not."""
    return apt_install(*DEBIAN_BROWSER) if can_apt() else "    needs root and apt-get"


def bring_playwright_chromium() -> str:
    """Fetch Playwright's own Chromium; give an empty text, or why not."""
    say("Fetching Playwright's own Chromium.")
    extra = ["--with-deps"] if can_apt() else []
    code, output = quietly(PYTHON, "-m", "playwright", "install", *extra, "chromium")
    return last_lines(output, 8) if code else ""


# The sound server -----------------------------------------------------------------------------------------------


def find_sound() -> bool:
    """Tell whether the tests have a sound server to play through; install one where that is allowed."""
    if not sys.platform.startswith("linux"):
        say("The tests with a sound server run on Linux only; they are skipped.")
        return False
    lacking = lacking_for_sound()
    if lacking and can_apt():
        trouble = apt_install(*DEBIAN_SOUND)
        lacking = lacking_for_sound()
        if lacking:
            raise StopError(
                f"The tests with a sound server need {', '.join(lacking)}, and it is still not there.\n{trouble}\n"
                'To run the other tests alone: python3 dev.py test -m "not sound"'
            )
    if lacking:
        say(f"The tests with a sound server are skipped: {', '.join(lacking)} is missing.")
        say(f"To get it, on Debian: sudo apt-get install {' '.join(DEBIAN_SOUND)}")
    return not lacking


def lacking_for_sound() -> list[str]:
    """Name what a sound server for the tests needs and this machine does not have."""
    lacking = [name for name in ("pipewire", "pw-link", "pw-jack") if shutil.which(name) is None]
    return lacking + (["PortAudio"] if quietly(PYTHON, "-c", "import sounddevice")[0] else [])


# The finite elements --------------------------------------------------------------------------------------------


def find_solver() -> str:
    """Give an empty text when motors can be computed here, else why not; install what is missing where allowed."""
    probe = (PYTHON, "-c", "import netgen.occ, ngsolve")
    if quietly(*probe)[0] == 0:
        return ""
    if can_apt():
        apt_install(*DEBIAN_SOLVER)
    code, output = quietly(*probe)
    if code == 0:
        return ""
    return (
        f"The finite elements do not start here, so motors cannot be computed.\n{last_lines(output, 4)}\n"
        f"On Debian they need: sudo apt-get install {' '.join(DEBIAN_SOLVER)}\n"
        "There are none for Linux on ARM; everything but the design of motors works there."
    )


# The verbs ------------------------------------------------------------------------------------------------------


def demo(arguments: list[str]) -> int:
    """Make the demo workshop, then serve it or print its comparison."""
    parser = argparse.ArgumentParser(prog="dev.py demo", description="Make the demo workshop and serve it.")
    parser.add_argument(
        "--no-serve", action="store_true", help="print the comparison instead of serving pages"
    )
    parser.add_argument("--port", type=int, help="port on 127.0.0.1")
    parser.add_argument(
        "--folder", type=Path, default=HERE / "saltmarsh-workshop", help="where the workshop goes"
    )
    options = parser.parse_args(arguments)
    folder = options.folder.absolute()
    set_up("run")
    trouble = find_solver()
    if trouble:
        say(trouble)
    halfroll = (PYTHON, "-m", "halfroll")
    there = (folder / "workshop.toml").exists()
    if there:
        say(f"The demo workshop is in {folder} already.")
    else:
        say(f"Making the demo workshop in {folder}.")
        code = run(*halfroll, "demo", folder)
        if code:
            return code
    if options.no_serve:
        return run(*halfroll, "--workshop", folder, "compare") if there else 0
    port = () if options.port is None else ("--port", str(options.port))
    window = () if has_screen() else ("--no-open",)
    return run(*halfroll, "--workshop", folder, "serve", "--page", "/compare", *port, *window)


def has_screen() -> bool:
    """Tell whether a browser window can be opened for the person; else the printed address has to do."""
    return (
        os.name == "nt"
        or sys.platform == "darwin"
        or any(map(os.environ.get, ("DISPLAY", "WAYLAND_DISPLAY")))
    )


def lint(arguments: list[str]) -> int:
    """Check style and types; give 1 if anything was found."""
    set_up("dev")
    fix = "--fix" in arguments
    steps = (
        ("ruff", "check", *(("--fix",) if fix else ()), "."),
        ("ruff", "format", *(() if fix else ("--check",)), "."),
        ("mypy",),
    )
    failed = []
    for words in steps:
        say(" ".join(words))
        if run(PYTHON, "-m", *words):
            failed.append(" ".join(words))
    if failed:
        say(f"Not passed: {', '.join(failed)}.")
    return 1 if failed else 0


def test(arguments: list[str]) -> int:
    """Run everything; or, with arguments for pytest, those tests alone."""
    set_up("dev")
    env = environment()
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # the pages alone are started a hundred times
    if "not browser" not in arguments:
        env["HALFROLL_CHROMIUM"] = find_browser()
    if "not sound" not in arguments and find_sound():
        env["HALFROLL_SOUND"] = "1"  # what is there may not be skipped
    trouble = find_solver()
    if trouble:
        raise StopError(trouble)
    with contextlib.nullcontext() if arguments else compiling(env):
        faults = 0 if arguments else lint([])
    say("pytest")
    # One more than cores: tests with sound mostly wait for it to be played.
    workers = min((os.cpu_count() or 1) + 1, 5)
    code = run(PYTHON, "-m", "pytest", *(arguments or ["-n", str(workers)]), env=env)
    if code == 5:
        say("No test fits these arguments.")
    say("Passed." if code == 0 and faults == 0 else "Not passed.")
    return code or faults


@contextlib.contextmanager
def compiling(env: dict[str, str]) -> Iterator[None]:
    """Let Python compile all tests and what they import, once for all workers, while something else is done that needs one core."""
    command = [str(PYTHON), "-m", "pytest", "--collect-only", "-q"]
    with subprocess.Popen(
        command,
        cwd=HERE,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as process:
        try:
            yield
        except BaseException:
            process.kill()
            raise


def lock(arguments: list[str]) -> int:
    """Write both lock files, with hashes and without any address."""
    set_up("dev")
    upgrade = [word for word in arguments if word == "--upgrade"]
    common = "--universal --fork-strategy fewest --generate-hashes --no-header --no-annotate --only-binary :all: -q"
    for kind, extra in (
        ("run", ["--extra", "install", "--extra", "capture"]),
        ("dev", ["--extra", "dev", "-c", LOCKS["run"]]),
    ):
        say(f"Writing {LOCKS[kind].name}.")
        base = ("uv", "pip", "compile", "pyproject.toml", "--python-version", ".".join(map(str, OLDEST)))
        if run(PYTHON, "-m", *base, *common.split(), *extra, *upgrade, "-o", LOCKS[kind]):
            raise StopError("The lock was not written; the lines above say why.")
        if "://" in LOCKS[kind].read_text(encoding="utf-8"):
            raise StopError(f"{LOCKS[kind].name} names an address; a lock with addresses must not be kept.")
    return 0


def bench(arguments: list[str]) -> int:
    """Run the benchmarks, or those whose file name holds one of the given words."""
    set_up("dev")
    files = sorted((HERE / "benchmarks").glob("[!_]*.py"))
    chosen = [file for file in files if not arguments or any(word in file.stem for word in arguments)]
    if not chosen:
        raise StopError(
            f"No benchmark fits. There are: {', '.join(file.stem for file in files) or 'none'}.", code=2
        )
    worst = 0
    for file in chosen:
        say(file.name)
        worst = max(worst, run(PYTHON, file))
    return worst


VERBS = {"demo": demo, "test": test, "lint": lint, "lock": lock, "bench": bench}


def main(words: list[str]) -> int:
    """Do what the first word says; no traceback reaches the person."""
    if not words or words[0] in ("-h", "--help", "help"):
        print(__doc__)
        return 0 if words else 2
    if words[0] not in VERBS:
        print(f"dev.py knows no verb '{words[0]}'. It knows: {', '.join(VERBS)}.", file=sys.stderr)
        return 2
    try:
        return VERBS[words[0]](words[1:])
    except StopError as stop:
        print(f"\n{stop}", file=sys.stderr)
        return stop.code
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130
    except OSError as error:
        print(f"\nThe system refused: {error}. Put it right and run the same command again.", file=sys.stderr)
        return 1


if __name__ == "__main__":
    if sys.version_info < OLDEST:
        sys.exit(
            "halfroll needs Python 3.11 or newer; this is Python {}.{} ({}).\n"
            "Install a newer one and start dev.py with it, for example: python3.12 dev.py demo".format(
                sys.version_info[0], sys.version_info[1], sys.executable
            )
        )
    sys.exit(main(sys.argv[1:]))
