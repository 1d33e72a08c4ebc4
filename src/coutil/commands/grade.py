"""coutil grade: a run of sizes from one base by a table of steps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._bases import base_of
from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import progress, show_line, show_table

if TYPE_CHECKING:
    from coutil.grading import Graded

EXAMPLE = "example"


@click.command(name="grade")
@click.argument("base")
@click.argument("table", type=click.Path(path_type=Path))
@out_option("out/sizes")
@unit_option
def command(base: str, table: Path, out: Path, unit: ScreenUnit) -> int:
    """Make every size in TABLE (.csv) of BASE (a style file or a shipped base), each checked.

    The table has a head `size` and measurement keys and a line for every size: +2 and -2 are steps from the
    base's own chart, a figure without a sign is the measurement itself.  TABLE may be `example`, five misses'
    sizes of a published table in inches, of which a base takes what its chart has.  Writes a style file for
    every size and sizes.csv.  Ends with 1 where a check fails; the files are written all the same.
    """
    from coutil.alter import Wishes
    from coutil.file_names import file_stems
    from coutil.files import read_text, write_files
    from coutil.grading import grade, known_steps, sizes_from_csv
    from coutil.pattern import style_to_json
    from coutil.shipped import example_size_table

    style = base_of(base)
    if str(table) == EXAMPLE:
        sizes = known_steps(style, sizes_from_csv(example_size_table(), unit))
    else:
        sizes = sizes_from_csv(read_text(table), unit)
    with progress("Grading", len(sizes)) as begin:
        made = grade(style, sizes, Wishes(), begin)
    stems = file_stems([graded.size.name for graded in made])
    files = {f"{stem}.json": style_to_json(one.alteration.style) for stem, one in zip(stems, made, strict=True)}
    write_files(out, {**files, "sizes.csv": _csv(made)})
    return _told(made, out, unit)


def _csv(made: tuple[Graded, ...]) -> str:
    import csv
    import io

    from coutil.grading import grade_table

    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(grade_table(made))
    return stream.getvalue()


def _told(made: tuple[Graded, ...], out: Path, unit: ScreenUnit) -> int:
    from coutil.grading import grade_table
    from coutil.job import failed_words, has_failed
    from coutil.speech import sentence

    table = grade_table(made)
    show_table("Sizes: garment girths in mm", table, right=range(1, len(table[0])))
    for graded in made:
        warned = dict.fromkeys(warning for row in graded.alteration.plan.rows for warning in row.warnings)
        for words in (*warned, *failed_words(graded.findings)):
            show_line(f"{graded.size.name}: {sentence(words, unit)}")
    failed = sum(has_failed(graded.findings) for graded in made)
    click.echo(f"{len(made)} sizes written to {out}; {failed} with a failed check.")
    return int(failed > 0)
