"""Sets the project up in its own folder and starts it; needs Python 3.11 or newer and nothing else.

    python3 start.py demo        the whole job for invented clients, into out/demo
    python3 start.py test        lint, types and tests
    python3 start.py alter ...   any other command of coutil, as `coutil alter ...`

Everything goes into .venv beside this file; what is there and still fits is used again.
"""

import signal

# Stopped before it has begun, the script ends without a word; the rest is read in after this.
signal.signal(signal.SIGINT, signal.SIG_DFL)

import hashlib  # noqa: E402
import json  # noqa: E402
import os  # noqa: E402
import shutil  # noqa: E402
import subprocess  # noqa: E402
import sys  # noqa: E402

ROOT = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(ROOT, ".venv")
STAMP = os.path.join(VENV, "coutil-stamp.json")
OLDEST = (3, 11)
TESTS = (["ruff", "check", "."], ["mypy"], ["pytest"])


def main(arguments: list) -> int:
    """Does what the first word says and gives its exit code."""
    if sys.version_info < OLDEST:
        return say(f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed; this is {sys.version.split()[0]}.")
    if not arguments or arguments[0] in ("-h", "--help"):
        print(__doc__)
        return 0
    if arguments == ["test"]:
        return test()
    if arguments == ["demo"]:
        arguments = ["demo", "--out", os.path.join("out", "demo")]
    return set_up("") or call("coutil", *arguments)


def test() -> int:
    """Runs every test tool, so that one that fails does not hide the others; gives the first bad exit code."""
    worst = set_up("test")
    if worst == 0:
        for words in TESTS:
            print(f"== {' '.join(words)}", flush=True)
            code = call(*words, folder=ROOT)
            worst = worst or code
    return worst


def set_up(extra: str) -> int:
    """Makes .venv and installs the project into it, unless what is there still fits; gives an exit code."""
    if is_fresh(extra):
        return 0
    print("Setting up .venv; this takes a minute the first time.", flush=True)
    if not runs() and not make_venv():
        return say("No virtual environment could be made; on Debian or Ubuntu install python3-venv.")
    code = install(extra)
    if code:
        return say("The packages could not be installed; the lines above say why.", code)
    with open(STAMP, "w", encoding="utf-8") as file:
        json.dump({"fingerprint": fingerprint(), "extra": extra}, file)
    return 0


def make_venv() -> bool:
    """Makes .venv anew."""
    shutil.rmtree(VENV, ignore_errors=True)
    return subprocess.call([sys.executable, "-P", "-m", "venv", VENV]) == 0


def install(extra: str) -> int:
    """Installs the project so that changes of its sources take effect at once."""
    target = f"{ROOT}[{extra}]" if extra else ROOT
    pinned = os.path.join(ROOT, "constraints.txt")
    return call("pip", "install", "--disable-pip-version-check", "--quiet", "-c", pinned, "-e", target)


def is_fresh(extra: str) -> bool:
    """Whether .venv was set up from these very files, with at least that extra."""
    try:
        with open(STAMP, encoding="utf-8") as file:
            stamp = json.load(file)
    except (OSError, ValueError):
        return False
    return stamp.get("fingerprint") == fingerprint() and stamp.get("extra") in (extra, "test") and runs()


def fingerprint() -> str:
    """Changes with what is installed, with the Python and with the folder."""
    digest = hashlib.sha256(f"{ROOT} {sys.version}".encode())
    for name in ("pyproject.toml", "constraints.txt"):
        with open(os.path.join(ROOT, name), "rb") as file:
            digest.update(file.read())
    return digest.hexdigest()


def python() -> str:
    """The Python of .venv."""
    place = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return os.path.join(VENV, *place)


def runs() -> bool:
    """Whether the Python of .venv can be started and has pip."""
    try:
        return subprocess.call([python(), "-P", "-c", "import pip"], stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def call(*words: str, folder: str = "") -> int:
    """Runs a module of .venv in the folder given, else where the maker stands, for her paths to hold.

    -P: what lies in that folder, a json.py among her patterns, is never taken for a library.
    """
    # The keys reach the module as well; how it ends is its own affair, and is waited for.  A handler, not "ignore":
    # that the module would inherit.
    before = signal.signal(signal.SIGINT, lambda *_: None)
    try:
        return subprocess.call([python(), "-P", "-m", *words], cwd=folder or None)
    finally:
        signal.signal(signal.SIGINT, before)


def say(sentence: str, code: int = 2) -> int:
    """Says it on stderr and gives the exit code."""
    print(sentence, file=sys.stderr)
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
