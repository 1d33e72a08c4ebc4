"""Thousands of broken drawings: each must end in a style or in one sentence, never in anything else.

    python benchmarks/fuzz_import.py --files 20000 --start 1

Mutates exported and hand-drawn SVG and DXF files and their marks files, imports each, and tells what became of them,
the slowest, and the memory's high-water mark.  A file that ends in another exception, a warning, or takes over 10 s of
work is written to --keep.  Ends with 1 where there is one, or where memory went over 512 MB.
"""

from __future__ import annotations

import argparse
import random
import re
import resource
import sys
import time
import warnings
from collections import Counter
from pathlib import Path

from coutil.drawing import export_dxf, export_svg, import_drawing
from coutil.errors import CoutilError
from coutil.shipped import shipped_base

ROOT = Path(__file__).parents[1]
TOO_LONG_S = 10.0
MOST_MB = 512.0
CROWDED = 0.005
WORDS = (
    b"nan",
    b"inf",
    b"-1e308",
    b"1e-300",
    b"0",
    b"-0",
    b"99999999",
    b"<",
    b'"',
    b"\n",
    b"e",
    b"[",
    b"Z",
    b"A1 1 0 0 1",
)

Sample = tuple[bytes, str, str | None]


def samples() -> list[Sample]:
    """The files that are broken: content, suffix, marks."""
    style = shipped_base("80-14")
    svg, dxf = export_svg(style), export_dxf(style)
    cincher = (ROOT / "docs" / "waist-cincher.svg").read_bytes()
    small = import_drawing(cincher, ".svg", "cincher")
    small_dxf = export_dxf(small.style)
    panelled, waist = export_svg(shipped_base("panelled-85-10")), export_dxf(shipped_base("waist-72"))
    return [
        (svg.drawing.encode(), ".svg", svg.marks),
        (svg.drawing.encode(), ".svg", None),
        (cincher, ".svg", None),
        (cincher, ".svg", small.marks_text),
        (dxf.drawing.encode(), ".dxf", dxf.marks),
        (small_dxf.drawing.encode(), ".dxf", None),
        (panelled.drawing.encode(), ".svg", panelled.marks),
        (panelled.drawing.encode(), ".svg", None),
        (waist.drawing.encode(), ".dxf", waist.marks),
    ]


def mutated(data: bytes, chance: random.Random) -> bytes:
    """A copy with some bytes changed, cut out, doubled or moved, or a word put in."""
    found = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 3, 5, 12))):
        at = chance.randrange(max(1, len(found)))
        kind = chance.randrange(6)
        if kind == 0 and found:
            found[at] = chance.randrange(256)
        elif kind == 1:
            del found[at : at + chance.randint(1, 80)]
        elif kind == 2:
            found[at:at] = found[at : at + chance.randint(1, 200)]
        elif kind == 3:
            found[at:at] = chance.choice(WORDS)
        elif kind == 4:
            there = chance.randrange(max(1, len(found)))
            found[there : there + 20] = found[at : at + 20]
        else:
            digit = next((k for k in range(at, min(at + 200, len(found))) if 48 <= found[k] <= 57), None)
            if digit is not None:
                found[digit : digit + 1] = str(chance.choice((0, 1, 9, 77, -5, 0.001))).encode()
    return bytes(found)


_NUMBER = re.compile(rb"-?\d+\.?\d*")
_LETTER = re.compile(rb"(?<=[ \"])[MCSLHVZmcslhvz](?=[ \d-])")
_NAME = re.compile(
    rb"(?:panel_seam|side_seam|cup_seam|cradle|centre|closure|top|neckline|armhole|hem|waist|bust|level|mark)"
)


def disturbed(data: bytes, chance: random.Random) -> bytes:
    """A copy that still reads, with numbers, commands or names that do not belong there."""
    found = data
    for _ in range(chance.choice((1, 1, 2, 4, 9))):
        pattern = chance.choice((_NUMBER, _NUMBER, _LETTER, _NAME))
        places = list(pattern.finditer(found))
        if not places:
            continue
        place = chance.choice(places)
        if pattern is _NUMBER:
            number = float(place[0])
            new = chance.choice(
                (0.0, -number, number * 10, number / 1000, number + 1, number - 37.5, 1e4, number + 0.3)
            )
            word = f"{new:.6g}".encode()
        else:
            word = chance.choice(places)[0]
        found = found[: place.start()] + word + found[place.end() :]
    return found


_ELEMENT = re.compile(rb"<(?:path|line|circle)[^<>]*/>")
_RECORD = re.compile(rb"(?<=\n)  0\n(?:LINE|SPLINE|CIRCLE|TEXT)\n(?:(?!  0\n).*\n)*")


def crowded(data: bytes, chance: random.Random) -> bytes:
    """A copy in which one line, circle or word stands some hundreds or thousands of times."""
    places = list(_ELEMENT.finditer(data)) or list(_RECORD.finditer(data))
    if not places:
        return mutated(data, chance)
    place = chance.choice(places)
    return data[: place.end()] + place[0] * chance.choice((300, 3000, 15_000)) + data[place.end() :]


def outcome(sample: Sample, chance: random.Random) -> tuple[str, Sample]:
    """What became of one broken file, and that file."""
    data, suffix, marks = sample
    spoil = chance.choice((mutated, disturbed, disturbed))
    if chance.random() < CROWDED:
        data = crowded(data, chance)
    elif marks is not None and chance.random() < 0.4:
        marks = spoil(marks.encode(), chance).decode("utf-8", "replace")
    else:
        data = spoil(data, chance)
    broken = (data, suffix, marks)
    try:
        import_drawing(data, suffix, "x", marks)
    except CoutilError as error:
        sentence = str(error)
        if "\n" in sentence or len(sentence) > 600 or not sentence.endswith((".", "?")):
            return f"FAULT: no sentence: {sentence[:200]!r}", broken
        return "refused", broken
    except Exception as error:
        return f"FAULT: {type(error).__name__}: {str(error)[:200]}", broken
    return "style", broken


def main() -> int:
    """Runs the files and tells what became of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=20_000)
    parser.add_argument("--start", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=7200.0, help="Stop after so long.")
    parser.add_argument("--keep", type=Path, default=Path("out/fuzz"))
    asked = parser.parse_args()
    warnings.simplefilter("error")
    found: Counter[str] = Counter()
    slowest, kept = (0.0, 0), 0
    base = samples()
    # DXF costs ten times as much: one file in six.
    weights = [10 if suffix == ".svg" else 3 for _, suffix, _ in base]
    first = time.monotonic()
    for number in range(asked.start, asked.start + asked.files):
        chance = random.Random(number)
        began = time.monotonic()
        worked = time.process_time()
        if began - first > asked.seconds:
            break
        told, broken = outcome(chance.choices(base, weights)[0], chance)
        took = time.process_time() - worked
        slowest = max(slowest, (took, number))
        told = f"FAULT: took over {TOO_LONG_S:.0f} s" if took > TOO_LONG_S else told
        found[told] += 1
        if told.startswith("FAULT"):
            kept += 1
            asked.keep.mkdir(parents=True, exist_ok=True)
            (asked.keep / f"{number}{broken[1]}").write_bytes(broken[0])
            (asked.keep / f"{number}.toml").write_text(broken[2] or "", encoding="utf-8")
            print(number, told, flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(dict(found))
    print(f"{sum(found.values())} files, {kept} faults, memory at most {peak:.0f} MB")
    print(f"slowest no. {slowest[1]}, {slowest[0]:.2f} s of work")
    return int(kept > 0 or peak > MOST_MB)


if __name__ == "__main__":
    sys.exit(main())
